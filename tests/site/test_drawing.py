"""Drawings: what is written is read back, other programs' ways are read, rubbish is refused."""

import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.errors import InputError
from cablesim.site.drawing import LAYERS, drawing_of, read_drawing
from cablesim.site.plan import plan_of
from cablesim.site.ranking import ranked_openings
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey, Suspect

ezdxf = pytest.importorskip("ezdxf")

BATH = ((0.0, 0.7), (0.75, 0.7), (0.75, 2.4), (0.0, 2.4))
ROOM = Room(((0.0, 0.0), (3.0, 0.0), (3.0, 2.4), (0.0, 2.4)), (BATH,))
PLAN = plan_of(
    Survey(
        room=ROOM,
        rule=Rule(0.12, 0.06, (0.85, 0.0)),
        tile_m=(0.3, 0.3),
        suspects=(Suspect((2.0, 1.0), 0.2, "screw"),),
    ),
    32.0,
)


def saved(tmp_path, document):
    path = tmp_path / "floor.dxf"
    document.saveas(path)
    return path


def test_what_is_written_is_read_back(tmp_path):
    path = tmp_path / "floor.dxf"
    path.write_bytes(drawing_of(PLAN, [(14.1, 14.5, 1.0)], ranked_openings(PLAN, [(14, 15, 1.0)])))
    drawn = read_drawing(path)
    assert drawn.room == ROOM
    assert np.abs(np.array(drawn.route_m) - PLAN.route.xy_m).max() < 1e-9
    document = ezdxf.readfile(path)
    assert document.units == 6
    assert {entity.dxf.layer for entity in document.modelspace()} == set(LAYERS)
    assert not document.audit().has_errors


def test_lines_in_millimetres_that_meet_are_one_cable(tmp_path):
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    for one, other in [((0, 0), (2000, 0)), ((0, 100), (2000.5, 100)), ((2000, 0), (2000, 100))]:
        space.add_line(one, other, dxfattribs={"layer": "cable"})
    drawn = read_drawing(saved(tmp_path, document))
    assert drawn.room is None
    assert drawn.route_m[0] == (0.0, 0.0)
    assert drawn.route_m[-1] == pytest.approx((0.0, 0.1))
    assert plan_of(Survey(route_m=drawn.route_m), 4.1).at(0.0).tolist() == [0.0, 0.0]


def test_arcs_become_short_chords(tmp_path):
    document = ezdxf.new("R2010", units=6)
    bulge = [(0, 0, 0), (1, 0, 1), (1, 0.2, 0), (0, 0.2, 0)]
    document.modelspace().add_lwpolyline(bulge, format="xyb", dxfattribs={"layer": "CABLE"})
    route = plan_of(Survey(route_m=read_drawing(saved(tmp_path, document)).route_m), 2.314).route
    assert route.length_m == pytest.approx(2 + 0.1 * np.pi, rel=1e-2)


def drawn_with(*lines, layer="CABLE", arc=0.0):
    document = ezdxf.new("R2010", units=6)
    for line in lines:
        document.modelspace().add_lwpolyline(line, dxfattribs={"layer": layer})
    if arc:
        document.modelspace().add_arc((0, 0), arc, 0, 90, dxfattribs={"layer": layer})
    return document


@pytest.mark.parametrize(
    ("document", "why"),
    [
        (lambda: drawn_with([(0, 0), (1, 0)], layer="OTHER"), "no line on a layer CABLE"),
        (lambda: drawn_with([(0, 0), (1, 0)], [(0, 1), (1, 1)]), "CABLE holds 2 separate lines"),
        (lambda: drawn_with([(0, 0), (9000, 0)]), "larger than a floor, 1000 m"),
        (lambda: drawn_with([(0, 0, 0, 0, 1e200), (1, 0, 0, 0, 0)]), "larger than a floor"),
        (lambda: drawn_with([(0, 0), (1, 0)], arc=1e30), "larger than a floor"),
    ],
)
def test_a_drawing_without_one_cable_is_refused(tmp_path, document, why):
    with pytest.raises(InputError, match=why) as caught:
        read_drawing(saved(tmp_path, document()))
    assert "floor.dxf" in str(caught.value)


GOOD = drawing_of(PLAN)


@settings(max_examples=40)
@given(
    st.binary(max_size=300)
    | st.tuples(st.integers(0, len(GOOD)), st.integers(0, 500), st.binary(max_size=20)).map(
        lambda cut: GOOD[: cut[0]] + cut[2] + GOOD[cut[0] + cut[1] :]
    )
)
def test_rubbish_is_one_sentence(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("drawings") / "floor.dxf"
    path.write_bytes(data)
    try:
        read_drawing(path)
    except InputError as error:
        assert "\n" not in str(error)
        assert str(error).isprintable()


@pytest.mark.parametrize("name", ["missing.dxf", ".", "nul\0.dxf"])
def test_what_is_no_file_is_refused(tmp_path, name):
    with pytest.raises(InputError):
        read_drawing(f"{tmp_path}/{name}")


def test_without_the_library_the_sentence_names_the_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(InputError, match=r"not installed; install it with pip install 'cablesim\["):
        drawing_of(PLAN)
