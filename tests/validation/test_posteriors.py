"""The page of posteriors, of one scenario; all of them are drawn by hand (see `posteriors`)."""

from validation.posteriors import drawn, figure, page, shipped


def test_a_page_of_one_posterior():
    scenarios = dict(shipped())
    assert len(scenarios) > 15
    one = drawn("loft-single-conductor", scenarios["loft-single-conductor"])
    assert one.held == "yes"
    assert len(figure([one]).axes) >= 1
    assert "| short between core1 and braid |" in page([one], "figures")
