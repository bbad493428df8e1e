"""Sound scenario files to damage, and values that belong nowhere."""

from cablesim.scenario.shipped import shipped_directory

__all__ = ["CHANGES", "SOUND", "VALUES", "change_lines"]

EVERY_KIND = """
format = 1
title = "Hall"
[cable]
construction = "single"
heated_length_m = 40.0
core_ohm_per_m = [1.2]
tolerance_percent = [-5.0, 10.0]
cold_lead_m = 3.0
far_end = "open"
supply_volt = 230.0
insulation = "XLPE"
core_alloy = "CuNi30Mn"
[cable.geometry]
core_strands = 7
core_strand_mm = 0.25
insulation_mm = 0.9
braid_inside_mm = 3.0
braid_carriers = 16
braid_wires = 4
braid_wire_mm = 0.12
braid_angle_deg = 30
cold_lead_mm2 = 1.5
cold_lead_class = 5
[[fault]]
kind = "short"
between = ["core1", "braid"]
at_m = 12.4
resistance_ohm = 55.0
[[fault]]
kind = "break"
conductors = ["core1"]
at_m = 12.4
[[fault]]
kind = "degraded"
between = ["core1", "braid"]
from_m = 2.0
to_m = 3.0
resistance_ohm = 1e6
[meter.pocket]
kind = "ohmmeter"
counts = 6000
zeroed = true
[meter.bridge]
kind = "loop_bridge"
divisions = 1000
[[reading]]
meter = "pocket"
across = ["core1", "core1@far"]
over_range = true
[[reading]]
meter = "insulation_tester"
across = ["core1", "braid"]
at_least_megohm = 999
test_volt = 500
seconds = 60
[[reading]]
meter = "bridge"
across = ["core1", "core1@far", "braid"]
method = "murray"
arms_ohm = [1000, 820]
[[reading]]
meter = "bridge"
across = ["core1", "core1@far", "braid"]
links = [["core1@far", "braid@far"]]
method = "varley"
arms_ohm = [1000, 1000]
balance_ohm = 12.5
note = "cold floor"
[floor]
outline_m = [[0, 0], [9, 0], [9, 9], [0, 9]]
keep_out_m = [[[0, 0], [1, 0], [1, 1]]]
route_m = [
    [0.5, 2], [8.5, 2], [8.5, 2.3], [0.5, 2.3], [0.5, 2.6],
    [8.5, 2.6], [8.5, 2.9], [0.5, 2.9], [0.5, 3.2], [8.5, 3.2],
]
layers = [{material = "tile", thickness_mm = 9}]
tile_m = [0.3, 0.3]
tile_origin_m = [0.1, 0]
suspect = [{at_m = [2.3, 2.1], radius_m = 0.25, why = "rail"}]
"""
SOUND = [EVERY_KIND, *(path.read_text() for path in sorted(shipped_directory().rglob("*.toml")))]

VALUES = [
    *("0", "-0.0", "1", "-1", "1e-320", "1e15", "1e308", "1e999", "nan", "-inf", "true", "false"),
    *('""', '"core1"', '"core2@far"', '"braid"', '"ohmmeter"', '"loop_bridge"', '"varley"'),
    *("[]", "[[]]", "[1]", "[0, 0]", "[1, 2]", '["core1"]', '["core1", "braid"]', "{}"),
    *('["core1", "core2", "braid"]', '[["core1", "braid"]]', "{a = 1}", "1979-05-27", "07:32:00"),
    *('"x"' + "\n" + 'x = "', "'''", "9" * 4000, '"' + "x" * 600 + '"', '"\\u0000\\u202e"', "#"),
]


CHANGES = 6
"""How many ways `change_lines` has to damage a file."""


def change_lines(lines, change, at, other, value):
    """Damage a file line by line: drop, repeat, exchange, or mix keys with others' values.

    `value` draws one of another kind. Of a line without a key the last three leave everything as it
    is. Returns whether anything changed.
    """
    key, equals, own = lines[at].partition("=")
    if change == 0:
        del lines[at]
    elif change == 1:
        lines.insert(other, lines[at])
    elif change == 2:
        lines[at], lines[other] = lines[other], lines[at]
    elif not equals:
        return False
    elif change == 3:
        lines[at] = f"{key}= {value()}"
    elif change == 4:
        lines[at] = f"{lines[other].partition('=')[0]} ={own}"
    else:
        lines[at] = f"{key}={lines[other].partition('=')[2]}"
    return True
