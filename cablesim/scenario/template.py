"""A scenario file to fill in: every line that a person at the floor needs, and where it is read."""

from __future__ import annotations

from typing import Final

__all__ = ["TEMPLATES", "template"]

_HEAD = """\
# What was laid, and what the meters read. Fill in, then run
#
#     cablesim check THIS_FILE        does it make sense?
#     cablesim locate THIS_FILE       what is broken, where, how sure
#     cablesim next THIS_FILE         what to read next
#
# Before every reading: switch off, lock off, prove dead; cable disconnected from the thermostat.
# Local codes and licensed practice come first.
format = 1
title = "Room, what happened"

[cable]
construction = "{construction}"{aside}
heated_length_m = 30.0              # from the label; "98 ft 5 in" is fine too
loop_resistance_ohm = {ohm}          # from the label
cold_lead_m = 2.5                   # from the thermostat to the cold joint
supply_volt = 230.0

[meter.pocket]                      # your ohmmeter: see its data sheet
kind = "ohmmeter"
accuracy_percent = 0.8
accuracy_counts = 3
counts = 2000
lead_ohm = 0.2                      # what it shows with the tips held together

# One [[reading]] for each value. Take the # off the line that holds and put what the display said.
"""
_READING = """
[[reading]]
meter = "{meter}"
across = [{across}]{aside}
# {value}
"""
_OHMS = "ohm = 90.6                        # or: over_range = true"
_MEGOHMS = "megohm = 250.0                    # or: at_least_megohm = 1000.0"
_FLOOR = """
# Where it lies, for `cablesim floor`: corners of the room, then the way of the cable by rule.
# [floor]
# outline_m = [[0.0, 0.0], [3.0, 0.0], [3.0, 2.4], [0.0, 2.4]]
# run = { spacing_m = 0.12, margin_m = 0.06, start_m = [0.1, 0.0] }
# tile_m = [0.3, 0.3]
"""

TEMPLATES: Final = ("twin", "single")
"""Constructions that there is a template for."""

_ASIDE = {
    "twin": "               # one cold lead; single: a cold lead at each end",
    "single": "             # a cold lead at each end; twin: one cold lead",
}
_OHM = {"twin": "88.2", "single": "44.1"}
_PAIRS = {
    "twin": (
        ('"core1", "core2"', "         # around the loop"),
        ('"core1", "braid"', ""),
        ('"core2", "braid"', ""),
    ),
    "single": (
        ('"core1", "core1@far"', "     # end to end; @far is the other cold lead"),
        ('"core1", "braid"', ""),
        ('"core1@far", "braid"', ""),
    ),
}
_ALL_CORES = {"twin": "core1+core2", "single": "core1"}


def template(construction: str) -> str:
    """Text of a scenario file with readings to fill in.

    Parameters
    ----------
    construction
        One of `TEMPLATES`.

    Examples
    --------
    >>> from cablesim.scenario.reading import parse_scenario
    >>> len(parse_scenario(template("twin")).probes)
    4
    """
    text = _HEAD.format(
        construction=construction, aside=_ASIDE[construction], ohm=_OHM[construction]
    )
    for across, aside in _PAIRS[construction]:
        text += _READING.format(meter="pocket", across=across, aside=aside, value=_OHMS)
    together = f'"{_ALL_CORES[construction]}", "braid"'
    text += _READING.format(
        meter="insulation_tester", across=together, aside="", value=_MEGOHMS
    ).replace("# megohm", "test_volt = 500.0\n# megohm")
    return text + _FLOOR
