"""Figures of heat: every shape of answer is drawn, with units and no two texts on each other."""

import itertools

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from report.test_figures import seen_texts

from cablesim.report.heat_figures import hot_spot_figure
from cablesim.report.saving import png_of
from cablesim.report.warm_figures import above_cable_figure, warm_floor_figure
from cablesim.site.heat import hot_spot, pulses
from cablesim.site.layers import usual_floor
from cablesim.site.warm_floor import above_cable, floor_image


def spots():
    floor = usual_floor()
    return {
        "seen": hot_spot(floor, pulses(3.0, 2.0, 10, 20.0)),
        "faint": hot_spot(floor, [(0.0, 2.0, 0.5)]),
        "long": hot_spot(floor, [(0.0, 600.0, 5.0)]),
        "open": hot_spot(floor.uncovered(), pulses(3.0, 2.0, 4, 5.0)),
    }


def check_page(figure):
    FigureCanvasAgg(figure).draw()
    page = figure.bbox
    texts = list(seen_texts(figure))
    for text, box in texts:
        assert page.x0 <= box.x0, text
        assert box.x1 <= page.x1, text
        assert page.y0 <= box.y0, text
        assert box.y1 <= page.y1, text
    for (one, box), (other, second) in itertools.combinations(texts, 2):
        # A line's height has some air above and below its letters.
        air = 2.0
        apart = (
            box.x1 <= second.x0 + air
            or second.x1 <= box.x0 + air
            or box.y1 <= second.y0 + air
            or second.y1 <= box.y0 + air
        )
        assert apart, (one, other)
    for axes in figure.axes:
        told = (axes.get_xlabel(), axes.get_ylabel(), axes.get_title(loc="left"))
        labels = [label for label in told if label]
        assert labels
        assert all("[" in label for label in labels)


@pytest.mark.parametrize("name", ["seen", "faint", "long", "open"])
def test_a_hot_spot_is_drawn(name):
    figure = hot_spot_figure(spots()[name])
    check_page(figure)
    assert png_of(lambda: figure).startswith(b"\x89PNG")


def test_a_warm_floor_is_drawn():
    route = np.array([[0.1, 0.1], [0.9, 0.1], [0.9, 0.2], [0.1, 0.2]])
    x_m, y_m = np.linspace(0, 1, 51), np.linspace(0, 0.5, 26)
    image = floor_image(route, [12.0, 12.0, 0.0], usual_floor(), (x_m, y_m), 1800.0)
    figure = warm_floor_figure(x_m, y_m, image, route, title="Warm", marks=[(0.9, 0.2, "12 W")])
    check_page(figure)


def test_warm_up_to_here_is_drawn():
    at = np.linspace(0.0, 20.0, 201)
    rise = above_cable([0, 12, 20], [14, 0], usual_floor(), at, after_s=1800.0)
    check_page(above_cable_figure(at, rise, 0.1, title="Warm up to 12 m"))
