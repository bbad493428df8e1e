"""Figures become files whatever letters their titles have."""

from matplotlib.figure import Figure

from cablesim.report.saving import png_of


def test_letters_that_the_font_lacks_warn_nobody():
    def drawn():
        figure = Figure(figsize=(2.0, 1.0))
        figure.text(0.1, 0.5, "浴室の床")
        return figure

    # Warnings are errors in this suite.
    assert png_of(drawn).startswith(b"\x89PNG")
    assert png_of(drawn) == png_of(drawn)
