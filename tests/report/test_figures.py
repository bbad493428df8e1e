"""Figures: every shape of answer is drawn, inside the page, with no two texts on each other."""

import io
import itertools
import struct
import sys
from dataclasses import replace

import matplotlib.image
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from report.answers import SHAPES, answer, spots

from cablesim.report.figures import DOTS_PER_INCH, WIDTH_INCH, answer_figure, answer_png


def seen_texts(figure):
    """Every text that a reader sees, and its box on the page."""
    renderer = figure.canvas.get_renderer()
    ticks = {
        label
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for tick in axis.get_major_ticks()
        for label in (tick.label1, tick.label2)
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }
    for text in set(figure.findobj(Text)) - ticks:
        if not text.get_visible() or not text.get_text().strip():
            continue
        box = text.get_window_extent(renderer)
        axes = text.axes
        if axes is not None and text.get_clip_on() and not axes.bbox.overlaps(box):
            continue
        yield text.get_text(), box


def drawn(name):
    figure = answer_figure(SHAPES[name]())
    FigureCanvasAgg(figure).draw()
    return figure


@pytest.mark.filterwarnings("ignore:.*missing from font")
@pytest.mark.parametrize("name", SHAPES)
def test_texts_are_on_the_page_and_apart(name):
    figure = drawn(name)
    width, height = figure.canvas.get_width_height()
    texts = list(seen_texts(figure))
    assert any("distance from the cold joint [m]" in text for text, _ in texts)
    for text, box in texts:
        assert 0 <= box.x0 < box.x1 <= width, text
        assert 0 <= box.y0 < box.y1 <= height, text
    for (one, a), (other, b) in itertools.combinations(texts, 2):
        apart = a.x1 <= b.x0 or b.x1 <= a.x0 or a.y1 <= b.y0 or b.y1 <= a.y0
        assert apart, (one, other)


def test_the_check_above_would_notice():
    figure = drawn("narrow")
    figure.text(0.03, 0.95, "on the title")
    figure.canvas.draw()
    boxes = [box for text, box in seen_texts(figure) if text in ("on the title", "A floor")]
    assert boxes[0].overlaps(boxes[1])


def panels(figure):
    return [axes for axes in figure.axes if axes.get_ylim()[0] == 0]


@pytest.mark.parametrize(
    ("name", "count"), [("narrow", 1), ("two", 2), ("three", 3), ("wide", 1), ("healthy", 0)]
)
def test_each_interval_is_enlarged(name, count):
    made = SHAPES[name]()
    figure = answer_figure(made)
    shown = panels(figure)
    assert len(shown) == count
    intervals_m = made.estimate.faults[0].intervals_m if count else ()
    for panel, (low, high) in zip(shown, intervals_m, strict=True):
        left, right = panel.get_xlim()
        assert left < low < high < right


def test_a_narrow_interval_fills_a_good_part_of_its_panel():
    made = SHAPES["narrow"]()
    (low, high), (panel,) = made.estimate.faults[0].intervals_m[0], panels(answer_figure(made))
    left, right = panel.get_xlim()
    assert 0.25 < (high - low) / (right - left) < 0.75


def test_a_wide_answer_names_no_best_place():
    texts = [text for text, _ in seen_texts(drawn("wide"))]
    assert not any("best place" in text for text in texts)
    assert any("best place" in text for text, _ in seen_texts(drawn("narrow")))


def test_a_second_place_is_outlined_and_told_apart_in_the_legend():
    texts = [text for text, _ in seen_texts(drawn("two places"))]
    assert any("the other within 2.6 to 27.4 m" in text for text in texts)
    assert any("true places 11.20 and 25.00 m" in text for text in texts)
    one = [text for text, _ in seen_texts(drawn("narrow"))]
    assert not any("the other" in text for text in one)


def test_of_two_places_the_curve_says_whose_it_is():
    texts = [text for text, _ in seen_texts(drawn("two places"))]
    assert any("density\nof the first place" in text for text in texts)
    assert any(text.startswith("first place: 95 % within") for text in texts)
    assert not any("first place" in text for text, _ in seen_texts(drawn("narrow")))


@pytest.mark.parametrize("name", ["undecided", "two places"])
def test_no_triangle_stands_on_a_label(name):
    figure = drawn(name)
    texts = list(seen_texts(figure))
    lanes = [axes for axes in figure.axes if any("otherwise" in t.get_text() for t in axes.texts)]
    marks = [line for line in lanes[0].lines if line.get_marker() == "v"]
    assert marks
    for mark in marks:
        box = mark.get_window_extent().padded(mark.get_markersize() / 2 * DOTS_PER_INCH / 72)
        assert not any(box.overlaps(other) for _, other in texts)


@pytest.mark.parametrize(
    ("name", "words"), [("narrow", {"cold lead"}), ("leak", {"cold lead, cold joint"})]
)
def test_a_cold_lead_is_named_however_short(name, words):
    assert words <= {text for text, _ in seen_texts(drawn(name))}


def test_the_truth_is_shown_where_it_is_known():
    assert any("true place 12.40 m" in text for text, _ in seen_texts(drawn("narrow")))
    assert any("true places 5.00 and 25.00 m" in t for t, _ in seen_texts(drawn("contradiction")))
    assert not any("true place" in text for text, _ in seen_texts(drawn("two")))


def test_density_under_the_curve_is_one_even_at_an_end():
    for name in ("narrow", "at the far end", "at the terminals", "wide"):
        (panel,) = panels(answer_figure(SHAPES[name]()))
        curve = max(panel.lines, key=lambda line: len(line.get_xdata()))
        x, y = np.asarray(curve.get_xdata(), float), np.asarray(curve.get_ydata(), float)
        # The curve is drawn through the middles of cells, so the area is not exact.
        assert np.trapezoid(y, x) == pytest.approx(1.0, abs=0.03)


def test_other_explanations_are_drawn_with_their_share():
    texts = [text for text, _ in seen_texts(drawn("undecided"))]
    assert any("otherwise short between core1 and braid (30 %)" in text for text in texts)
    assert not any("(2 %)" in text for text in texts)


def test_png_has_the_size_of_the_page_and_something_on_it():
    made = SHAPES["undecided"]()
    image = answer_png(made)
    width, height = struct.unpack(">II", image[16:24])
    assert width == round(WIDTH_INCH * DOTS_PER_INCH)
    assert 0.4 < height / width < 1.2
    pixels = matplotlib.image.imread(io.BytesIO(image), format="png")
    assert pixels.shape[:2] == (height, width)
    assert len(np.unique(pixels[..., 0])) > 50


def test_the_same_answer_gives_the_same_bytes():
    assert answer_png(answer(spots(5.0))) == answer_png(answer(spots(5.0)))


def test_letters_that_the_font_lacks_give_no_warning():
    answer_png(replace(SHAPES["narrow"](), title="床暖房"))


def test_no_global_state_of_matplotlib_is_used():
    answer_png(SHAPES["narrow"]())
    assert "matplotlib.pyplot" not in sys.modules
    assert isinstance(answer_figure(SHAPES["narrow"]()), Figure)
