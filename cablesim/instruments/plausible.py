"""What a meter hardly ever is: a sentence for each value that looks like a slip."""

from __future__ import annotations

from collections.abc import Mapping

from cablesim.instruments.meter import Meter

__all__ = ["odd_meters"]

# Test leads have some tenths of an ohm, and a long pair with crocodile clips an ohm or two (common
# practice, no source).
_MOST_LEAD_OHM = 5.0


def odd_meters(meters: Mapping[str, Meter]) -> tuple[str, ...]:
    """Sentences about values that no meter is likely to have.

    Parameters
    ----------
    meters
        Each by its name in the file.

    Returns
    -------
    tuple of str
        One sentence for each; empty where all is usual.

    Examples
    --------
    >>> from cablesim.instruments.meters import Ohmmeter
    >>> print(*odd_meters({"pocket": Ohmmeter(name="pocket", lead_ohm=50.0)}))
    The leads of meter pocket have 50 ohm, more than leads do: is that with the tips together?
    """
    return tuple(
        f"The leads of meter {name} have {meter.lead_ohm:g} ohm, more than leads do: is that "
        "with the tips together?"
        for name, meter in meters.items()
        if meter.lead_ohm > _MOST_LEAD_OHM
    )
