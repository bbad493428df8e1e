"""Which stretches of the cable a figure shows enlarged."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["windows_of"]

Stretch = tuple[float, float]

# More stretches than this do not fit side by side.
_MOST = 3
# Where the stretches are this share of the cable, enlarging them gains nothing.
_WHOLE = 0.4


def windows_of(
    intervals_m: Sequence[Stretch], whole: Stretch, *, cell_m: float, also_m: Sequence[float] = ()
) -> list[Stretch]:
    """Stretches around the intervals, or the whole cable where they are not worth enlarging.

    Parameters
    ----------
    intervals_m
        What is to be seen [m].
    whole
        Ends of the cable [m].
    cell_m
        Finest detail that there is to see [m].
    also_m
        Places to be shown with them, where they lie near [m].

    Examples
    --------
    >>> windows_of([(12.0, 12.4)], (-2.5, 30.0), cell_m=0.01)
    [(11.7, 12.7)]
    >>> windows_of([(2.0, 25.0)], (-2.5, 30.0), cell_m=0.2)
    [(-2.5, 30.0)]
    """
    windows: list[Stretch] = []
    for low, high in sorted(intervals_m):
        pad = max(0.75 * (high - low), 3 * cell_m)
        low, high = low - pad, high + pad
        near = [place for place in also_m if low - 2 * pad < place < high + 2 * pad]
        low = min([low, *(place - pad / 3 for place in near)])
        high = max([high, *(place + pad / 3 for place in near)])
        if windows and low - windows[-1][1] < high - low:
            low = windows.pop()[0]
        windows.append((round(low, 6), round(high, 6)))
    # A little past the ends of the cable, so that a place at an end is not cut.
    ends = [(whole[0] - 0.1 * (b - a), whole[1] + 0.1 * (b - a)) for a, b in windows]
    windows = [(max(a, e), min(b, f)) for (a, b), (e, f) in zip(windows, ends, strict=True)]
    shown = sum(high - low for low, high in windows)
    if not 0 < len(windows) <= _MOST or shown > _WHOLE * (whole[1] - whole[0]):
        return [whole]
    return windows
