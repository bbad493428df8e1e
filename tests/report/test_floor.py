"""The floor for people: rows, dictionary, and a sheet on which no two names cover each other."""

import json
import struct
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from matplotlib.backends.backend_agg import FigureCanvasAgg
from rich.console import Console

from cablesim.errors import InputError
from cablesim.locate.estimate import Proposal
from cablesim.report.answer import answered
from cablesim.report.floor import (
    FLOOR_CAUTIONS,
    floor_of_estimate,
    floor_of_position,
    walls_beside,
)
from cablesim.report.floor_figures import floor_figure, floor_image
from cablesim.report.floor_tables import floor_view
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey

BATHROOM = load_scenario(shipped_directory() / "bathroom-floor.toml")


@pytest.fixture(scope="module")
def located():
    return floor_of_estimate(BATHROOM, answered(BATHROOM).estimate)


def changed(**changes):
    return replace(BATHROOM, floor=replace(BATHROOM.floor, **changes))


def said(answer):
    console = Console(width=80, record=True, file=open("/dev/null", "w"))  # noqa: SIM115
    console.print(floor_view(answer))
    console.file.close()
    return console.export_text()


def test_the_readings_lead_to_the_tile_over_the_true_place(located):
    plan = BATHROOM.plan
    true_xy = plan.at(BATHROOM.faults[0].at_m)
    assert np.hypot(*(np.array(located.xy_m) - true_xy)) < 0.2
    (opening,) = located.ranking.openings
    assert opening.patch.covers(shapely.Point(true_xy))
    assert located.suspects[0].why.startswith("towel rail")
    assert located.load.watt_per_m == pytest.approx(230**2 / 103.3 / 32)
    assert located.load.watt_per_m2_between_runs == pytest.approx(located.load.watt_per_m / 0.12)


def test_words_hold_place_tiles_neighbours_and_cautions(located):
    text = " ".join(said(located).split())
    for wanted in (
        "from the wall on the right",
        "column 8",
        "run 11 at 120 mm",
        "do not cut there, lift by hand",
        "from the nearest run",
        "W/m2",
        *FLOOR_CAUTIONS,
    ):
        assert wanted in text, text


def test_a_second_place_and_open_questions_stand_beside_the_opening():
    estimate = answered(BATHROOM).estimate
    (first,) = estimate.faults
    second = replace(first, position_m=25.0, interval_m=(24.8, 25.2), intervals_m=((24.8, 25.2),))
    asked = Proposal(1, "unit", 1.0, "ohm", "healthy", "was the unit read wrongly?")
    answer = floor_of_estimate(
        BATHROOM, replace(estimate, faults=(first, second), proposals=(asked,))
    )
    text = " ".join(said(answer).split())
    for wanted in ("Verdict", "within 24.80 to 25.20 m: not on this plan", "--at 25.00", "Ask"):
        assert wanted in text, text
    told = answer.to_dict()
    assert told["elsewhere"] == [second.to_dict()]
    assert told["proposals"] == [asked.to_dict()]
    figure = floor_figure(answer)
    written = " ".join(one.get_text() for one in figure.texts)
    assert "Also damaged, not on this plan" in written
    assert "Ask first: was the unit read wrongly?" in written


def test_the_dictionary_is_plain_and_agrees_with_the_plan(located):
    told = json.loads(json.dumps(located.to_dict(), allow_nan=False))
    assert BATHROOM.plan.position_of(told["at_m"]) == pytest.approx(told["position_m"], abs=1e-9)
    (opening,) = told["openings"]
    assert told["tile"] in opening["tiles"]
    assert opening["cuts_m"]
    assert all(len(point) == 2 for line in opening["cuts_m"] for point in line)
    assert told["cautions"]
    assert sum(item["probability"] for item in told["lift_order"]) == pytest.approx(1.0)


def test_what_cannot_be_placed_gets_no_opening():
    vague = replace(answered(BATHROOM).estimate, locatable=False, reason="22 m are open")
    answer = floor_of_estimate(BATHROOM, vague)
    assert answer.ranking is None
    assert "no opening is advised: 22 m are open" in said(answer)
    assert answer.to_dict()["openings"] == []
    healthy = replace(vague, verdict="healthy", faults=(), reason="", density=None)
    assert "nothing is found broken" in said(floor_of_estimate(BATHROOM, healthy))


def test_damage_in_the_cold_lead_is_not_on_the_plan():
    estimate = answered(BATHROOM).estimate
    (fault,) = estimate.faults
    lead = replace(fault, position_m=-1.0, interval_m=(-1.2, -0.8), intervals_m=((-1.2, -0.8),))
    answer = floor_of_estimate(BATHROOM, replace(estimate, faults=(lead,), density=None))
    assert answer.position_m is None
    assert "cold lead" in said(answer)


def test_walls_are_measured_from_inside():
    assert walls_beside(BATHROOM.plan, (1.0, 1.0), 0) == pytest.approx((1.0, 2.0))
    assert walls_beside(BATHROOM.plan, (1.0, 1.0), 1) == pytest.approx((1.0, 1.4))


def test_a_load_beyond_usual_limits_is_told():
    hot = replace(BATHROOM, supply_volt=500.0)
    notes = " ".join(floor_of_position(hot, 10.0, 0.2).load.notes)
    assert "54 W/m" in notes
    assert "NEC 424.44(A)" in notes
    assert "33 C (bathroom)" in notes
    mild = replace(BATHROOM, supply_volt=100.0)
    assert floor_of_position(mild, 10.0, 0.2).load.notes == ()
    assert floor_of_position(replace(BATHROOM, supply_volt=None), 10.0, 0.2).load is None


def test_a_scenario_without_a_route_is_refused():
    with pytest.raises(InputError, match="does not say where the cable lies"):
        floor_of_position(replace(BATHROOM, floor=None), 10.0, 0.2)


SLANTED = Survey(
    room=Room(((0.0, 0.0), (4.0, 0.6), (3.4, 3.0), (0.4, 3.4))), rule=Rule(0.15, 0.1, (0.0, 0.0))
)
SHEETS = {
    "tiles": lambda: floor_of_position(BATHROOM, 14.3, 0.15),
    "no tiles": lambda: floor_of_position(changed(tile_m=None), 14.3, 0.15),
    "at the start": lambda: floor_of_position(BATHROOM, 0.0, 0.1),
    "at the end": lambda: floor_of_position(BATHROOM, 32.0, 0.1),
    "wide": lambda: floor_of_position(BATHROOM, 16.0, 3.0),
    "small tiles": lambda: floor_of_position(changed(tile_m=(0.05, 0.05)), 14.3, 0.1),
    "slanted": lambda: floor_of_position(replace(BATHROOM, floor=SLANTED), 9.0, 0.3),
    "walls not measured": lambda: floor_of_position(
        replace(BATHROOM, floor=Survey(route_m=((0, 0), (16, 0), (16, 0.2), (0, 0.2)))), 9.0, 0.3
    ),
    "not placed": lambda: floor_of_estimate(
        BATHROOM, replace(answered(BATHROOM).estimate, locatable=False, reason="all is open")
    ),
}


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_drawn_to_scale_and_within_the_page(name):
    figure = floor_figure(SHEETS[name]())
    FigureCanvasAgg(figure).draw()
    width_px, height_px = figure.canvas.get_width_height()
    assert figure.get_size_inches() * 25.4 == pytest.approx((210, 297))
    for axes in figure.axes:
        box = axes.get_window_extent()
        assert 0 <= box.x0 < box.x1 <= width_px
        assert 0 <= box.y0 < box.y1 <= height_px
        scale = float(axes.get_title("left").split("1:")[1].split()[0])
        (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
        mm_per_px = 25.4 / figure.dpi
        assert box.width * mm_per_px == pytest.approx(1000 * (x1 - x0) / scale, rel=1e-3)
        assert box.height * mm_per_px == pytest.approx(1000 * (y1 - y0) / scale, rel=1e-3)
    boxes = [axes.get_window_extent() for axes in figure.axes]
    assert all(not a.overlaps(b) for a, b in pairwise(boxes))
    legend = figure.legends[0].get_window_extent()
    assert legend.x0 >= 0
    assert legend.x1 <= width_px
    assert all(not legend.overlaps(box) for box in boxes)
    heads = [text.get_window_extent() for text in figure.texts]
    assert all(box.x1 <= width_px and box.y0 >= 0 for box in heads)
    assert all(not head.overlaps(box) for head in heads for box in boxes)


def test_distances_from_the_walls_cover_no_metre_mark():
    hall = load_scenario(shipped_directory() / "hall-surveyed-floor.toml")
    figure = floor_figure(floor_of_estimate(hall, answered(hall).estimate))
    FigureCanvasAgg(figure).draw()
    texts = figure.axes[0].texts
    distances = [text for text in texts if text.get_text().endswith(" m")]
    numbers = [text for text in texts if text.get_text().isdigit()]
    assert len(distances) == 2 and len(numbers) > 5
    for told in distances:
        box = told.get_window_extent()
        assert not any(box.overlaps(number.get_window_extent()) for number in numbers)


def test_no_dimension_line_runs_through_a_metre_number():
    """The kitchen's short lies on the run along which the distance from a wall is drawn."""
    kitchen = load_scenario(shipped_directory() / "start" / "kitchen.toml")
    figure = floor_figure(floor_of_estimate(kitchen, answered(kitchen).estimate))
    FigureCanvasAgg(figure).draw()
    plan = figure.axes[0]
    numbers = [t for t in plan.texts if t.get_text().isdigit() and t.get_visible()]
    assert "8" in {number.get_text() for number in numbers}
    arrows = [t.arrow_patch for t in plan.texts if getattr(t, "arrow_patch", None) is not None]
    assert len(arrows) == 2
    for arrow in arrows:
        box = arrow.get_window_extent()
        assert not any(box.overlaps(number.get_window_extent()) for number in numbers)


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_images_of_each_kind_are_the_same_each_time(kind, located):
    image = floor_image(located, kind)
    start = {"png": b"\x89PNG\r\n", "svg": b"<?xml", "pdf": b"%PDF"}[kind]
    assert image.startswith(start)
    assert floor_image(located, kind) == image
    if kind == "png":
        assert struct.unpack(">II", image[16:24]) == (1240, 1753)


def test_an_interval_that_reaches_into_the_cold_lead_is_named_and_only_its_rest_ranked():
    estimate = answered(BATHROOM).estimate
    (fault,) = estimate.faults
    near = replace(fault, position_m=0.1, interval_m=(-0.3, 0.1), intervals_m=((-0.3, 0.1),))
    answer = floor_of_estimate(BATHROOM, replace(estimate, faults=(near,), density=None))
    # A quarter of the interval's length is heated cable.
    assert answer.off_plan == pytest.approx(0.75 * estimate.level)
    assert answer.ranking.probabilities == pytest.approx((0.25 * estimate.level,))
    assert answer.ranking.openings[0].interval_m == (0.0, 0.1)
    assert answer.to_dict()["off_plan_probability"] == answer.off_plan
    words = " ".join(said(answer).split())
    assert "Off the plan 71 %: it may lie in the cold lead" in words
    assert "if it lies on the plan" in words
