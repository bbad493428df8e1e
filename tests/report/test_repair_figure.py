"""The figure of a repair: every reading with a limit, in its place, and nothing off the page."""

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from report.test_figures import seen_texts

from cablesim.report.repair import repair_answer
from cablesim.report.repair_figure import repair_figure
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory


@pytest.mark.parametrize(("name", "read"), [("laundry-splice-taken-damp", True), ("demo", False)])
def test_every_reading_with_a_limit_is_drawn(name, read):
    answer = repair_answer(load_scenario(shipped_directory() / f"{name}.toml"))
    figure = repair_figure(answer)
    FigureCanvasAgg(figure).draw()
    texts = list(seen_texts(figure))
    for text, box in texts:
        assert figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1, text
        assert figure.bbox.y0 <= box.y0 and box.y1 <= figure.bbox.y1, text
    told = " ".join(text for text, _ in texts)
    limited = [row for row in answer.expected if row.limit is not None]
    assert len(figure.axes) == len(limited)
    for axes, row in zip(figure.axes, limited, strict=True):
        low, high = axes.get_xlim()
        assert low < row.limit.least < high
        assert low < row.after
    units = [text.get_text() for axes in figure.axes for text in axes.texts]
    assert units == [f"[{row.probe.meter.unit}]" for row in limited]
    assert ("after covering: not decided" in told) == read
    assert ("not read yet" in told) != read
    assert "licensed" in told
