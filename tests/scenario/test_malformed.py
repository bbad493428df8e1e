"""Whatever is wrong with a file: one sentence, naming file, key, value or nearest name, and mend.

Each row of the tables below is a file, and the words that its message must hold.
"""

import pytest

from cablesim.errors import ScenarioError
from cablesim.scenario.reading import parse_scenario

CABLE = {"construction": '"twin"', "heated_length_m": "30.0", "loop_resistance_ohm": "88.2"}
SHORT = {
    "kind": '"short"',
    "between": '["core1", "braid"]',
    "at_m": "12.4",
    "resistance_ohm": "55.0",
}
READING = {"meter": '"ohmmeter"', "across": '["core1", "braid"]', "ohm": "87.7"}
MAKE = {"core_strands": "7", "core_strand_mm": "0.2", "insulation_mm": "0.8"}
BALANCE = {
    "meter": '"loop_bridge"',
    "across": '["core1", "core2", "braid"]',
    "method": '"murray"',
    "arms_ohm": "[1000, 820]",
}


def table(heading, values, changes):
    """Write a table; a change to None leaves its key out."""
    lines = [f"{key} = {value}" for key, value in (values | changes).items() if value is not None]
    return "\n".join([heading, *lines, ""])


def cable(**changes):
    return table("[cable]", CABLE, changes)


def make(**changes):
    known = {"insulation": '"XLPE"', "core_alloy": '"CuNi44"'}
    return cable(**known) + table("[cable.geometry]", MAKE, changes)


def fault(**changes):
    return cable() + table("[[fault]]", SHORT, changes)


def cut(**changes):
    return fault(**{"kind": '"break"', "between": None, "resistance_ohm": None} | changes)


def leak(**changes):
    return fault(kind='"degraded"', **changes)


def reading(**changes):
    return cable() + table("[[reading]]", READING, changes)


def arc(**changes):
    volts = {"resistance_ohm": None, "breakdown_volt": "1400", "arc_volt": "60"}
    return fault(**{"kind": '"flashover"'} | volts | changes)


def withstand(**changes):
    return reading(**{"meter": '"withstand_tester"', "ohm": None} | changes)


def insulation(**changes):
    return reading(**{"meter": '"insulation_tester"', "ohm": None} | changes)


def balance(**changes):
    return cable() + table("[[reading]]", BALANCE, changes)


def varley(**changes):
    return balance(**{"method": '"varley"', "arms_ohm": "[1000, 1000]"} | changes)


def echo(**changes):
    return reading(
        **{"meter": '"pulse_echo"', "ohm": None, "echo_ns": "154", "sign": '"-"'} | changes
    )


def warm(**changes):
    return reading(**{"meter": '"heat"', "ohm": None, "warm_to_m": "9.5"} | changes)


OTHER = {"name": '"b"'} | CABLE


def other(before="", **changes):
    return before + cable() + table("[[other]]", OTHER, changes)


def join(joins):
    return other(f"joins = {joins}\n")


def on(**changes):
    short = {
        "kind": '"short"',
        "on": '"b"',
        "between": '["core1", "braid"]',
        "at_m": "3.0",
        "resistance_ohm": "5.0",
    }
    return other() + table("[[fault]]", short, changes)


def meter(**changes):
    return cable() + table("[meter.pocket]", {"kind": '"ohmmeter"'}, changes)


FLOOR = {
    "outline_m": "[[0, 0], [3, 0], [3, 2.4], [0, 2.4]]",
    "run": "{spacing_m = 0.12, margin_m = 0.06, start_m = [0, 0]}",
}


def floor(**changes):
    return cable() + table("[floor]", FLOOR, changes)


def surveyed(route, **changes):
    return floor(run=None, route_m=route, **changes)


def laid(rule):
    return floor(run="{" + rule + "}")


FILES = [
    # the file as a whole
    ("", "the file is empty", "[cable]"),
    ("  \n\t\n", "the file is empty"),
    ("\ufeff", "the file is empty"),
    ("# a remark\n", "[cable] is missing"),
    ("x", "line 1", "not valid TOML"),
    (b"\xff\xfe[\x00c\x00", "not text in UTF-8", "byte 0"),
    (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not text in UTF-8"),
    ("\0\0\0\0", "line 1", "not valid TOML"),
    (cable() + "\ud800", "cannot be written as UTF-8"),
    ("[" * 5000, "length of line 1", "5000", "4096"),
    ("a = " + "[\n" * 3000, "nested too deeply"),
    ("a" + ".a" * 1000 + " = 1", "number of dots of line 1", "1000", "300"),
    ("a = " + "9" * 4090, "a is not a known key", "cable"),
    (" " * 300_000, "size in bytes", "300000", "262144"),
    # the syntax
    (cable(heated_length_m="30,0"), "line 3", "write a decimal point"),
    (cable(heated_length_m="30.0 m"), "line 3", "the unit is in the key"),
    (cable(construction="twin"), "line 2", "put text in quotes"),
    (cable(construction='"twin'), "line 2", "quotes"),
    (cable(heated_length_m=""), "line 3", "invalid value"),
    (cable() + "heated_length_m = 3\n", "overwrite a value", "may stand once"),
    (cable() * 2, "line 5", "'cable'", "twice"),
    (cable() + "[meter.a]\n[meter.a]\n", "line 6", "twice"),
    # the top of it
    ("format = 2\n" + cable(), "format is 2", "newer"),
    ("format = 0\n" + cable(), "format is 0", "write format = 1"),
    ("format = true\n" + cable(), "format is true"),
    ('format = "1"\n' + cable(), "format is '1'"),
    ("title = 3\n" + cable(), "title is 3", "text"),
    (f'title = "{"x" * 300}"\n' + cable(), "title is 'xxx", "at most 200 characters"),
    ("established = 3\n" + cable(), "established is 3", '["short", "degraded"]'),
    ("established = []\n" + cable(), "established is []", "a list of 1 to 6"),
    ('established = ["shrt"]\n' + cable(), "established is ['shrt']", "did you mean short?"),
    (cable(established='["short"]'), "cable.established", "above the first table"),
    ("[cabel]\n", "cabel is not a known key", "did you mean cable?"),
    (cable() + "[[faults]]\n", "faults", "did you mean fault?"),
    # the floor
    ("floor = 3\n" + cable(), "floor is 3", "[floor]"),
    (cable() + "[[floor]]\n", "floor is [{}]", "[floor], once"),
    (floor(outlin_m="[]"), "floor.outlin_m", "did you mean outline_m, in metres?"),
    (floor(outline_m="[[0, 0], [3, 0]]"), "floor.outline_m is [[0, 0], [3, 0]]", "a list of 3"),
    (floor(outline_m="[[0, 0], [3, 0], [3]]"), "floor.outline_m is", "[[0, 0], [3, 0]"),
    (floor(outline_m="3"), "floor.outline_m is 3", "a list of 3 to 1000"),
    (floor(outline_m="[[0, 0], [3, 0], [nan, 1]]"), "floor.outline_m is", "nan"),
    (floor(outline_m="[[0, 0], [3000, 0], [3000, 2400]]"), "floor.outline_m is"),
    (floor(outline_m="[[0, 0], [3, 2.4], [3, 0], [0, 2.4]]"), "floor.outline_m crosses", "1.5 1.2"),
    (floor(outline_m="[[0, 0], [0, 0], [0, 0]]"), "floor.outline_m"),
    (floor(outline_m=None), "floor.run needs outline_m"),
    (floor(outline_m=None, keep_out_m="[[[0, 0], [1, 0], [1, 1]]]"), "outline_m is missing"),
    (floor(keep_out_m="[[0, 0], [1, 0], [1, 1]]"), "floor.keep_out_m is", "[[[0, 0],"),
    (floor(keep_out_m="[[[0, 0], [1, 1], [1, 0], [0, 1]]]"), "floor.keep_out_m[1] crosses"),
    (floor(keep_out_m="[[[0, 0], [3, 0], [3, 2.4], [0, 2.4]]]"), "floor: the room has no place"),
    (floor(route_m="[[0, 0], [30, 0]]"), "route_m and run are both given"),
    (surveyed("[[0, 0]]"), "floor.route_m is [[0, 0]]", "a list of 2"),
    (surveyed("[[0, 0], [3, 0]]"), "the length of floor.route_m is 3.0", "within 15 %", "30 m"),
    (surveyed("[[0, 0], [0, 0], [30, 0]]"), "floor.route_m has the point", "twice"),
    (surveyed("[[0, 0], [9, 0], [9, 9], [4, 9], [4, -5]]"), "floor.route_m crosses"),
    (surveyed("[[0, 0], [30, 0]]"), "floor.route_m: point 2 is [30.0, 0.0]", "inside outline_m"),
    (surveyed("true"), "floor.route_m is true", "a list of 2"),
    (laid("spacing_m = 0.1"), "floor.run.margin_m is missing"),
    (laid("spacing = 0.1"), "floor.run.spacing", "did you mean spacing_m, in metres?"),
    (laid("spacing_m = 0.1, margin_m = 0, start_m = 3"), "floor.run.start_m is 3", "a list of 2"),
    (laid("spacing_m = 0.02, margin_m = 0, start_m = [0, 0]"), "floor.run.spacing_m is 0.02"),
    (laid("spacing_m = 0, margin_m = 0, start_m = [0, 0]"), "floor.run.spacing_m is 0", "above 0"),
    (laid("spacing_m = 0.1, margin_m = 0, start_m = [9, 0]"), "floor.run.start_m is [9.0, 0.0]"),
    (laid("spacing_m = 0.1, margin_m = 2, start_m = [0, 0]"), "floor: the room has no place"),
    (laid("spacing_m = 0.3, margin_m = 0, start_m = [0, 0]"), "heated_length_m is 30.0", "at most"),
    (laid("spacing_m = 0.1, margin_m = 0, start_m = [0, 0], bend_radius_m = 0.2"), "twice bend_r"),
    (floor(run="3"), "floor.run is 3", "write run = {spacing_m"),
    (floor(run="[]"), "floor.run is []", "a table"),
    (floor(tile_m="0.3"), "floor.tile_m is 0.3", "a list of 2", "[0.3, 0.3]"),
    (floor(tile_m="[0.3, 0]"), "floor.tile_m is 0.0", "at least 0.005"),
    (floor(tile_m="[300, 300]"), "floor.tile_m is 300.0", "in metres"),
    (floor(tile_origin_m="[0]"), "floor.tile_origin_m is [0]", "a list of 2"),
    (floor(layers="3"), "floor.layers is 3", "layers = [{material"),
    (floor(layers="[1]"), "floor.layers is [1]", "a list of tables"),
    (floor(layers='[{material = "tile"}]'), "floor layer 1: thickness_mm is missing"),
    (floor(layers="[{material = 3, thickness_mm = 3}]"), "floor layer 1: material is 3"),
    (
        floor(layers='[{material = "tyle", thickness_mm = 3}]'),
        "floor layer 1",
        "did you mean tile?",
    ),
    (floor(layers='[{material = "tile", thickness_mm = 0}]'), "thickness_mm is 0", "above 0"),
    (floor(layers='[{material = "tile", thickness_m = 1}]'), "did you mean thickness_mm"),
    (floor(layers="[" + "{}, " * 21 + "]"), "number of layers of the floor is 21", "at most 20"),
    (floor(suspect="[{}]"), "floor suspect 1: at_m is missing"),
    (floor(suspect="[{at_m = [0, 0], radius_m = -1}]"), "floor suspect 1: radius_m is -1"),
    (floor(suspect="[{at_m = [0], radius_m = 1}]"), "floor suspect 1: at_m is [0]", "a list of 2"),
    (floor(suspect="{}"), "floor.suspect is {}", "suspect = [{at_m"),
    ("cable = 3\n", "cable is 3", "[cable]"),
    ("[[cable]]\n", "cable is [{}]", "[cable], once"),
    (cable() + "[fault]\n", "fault is {}", "[[fault]]"),
    ("reading = [1]\n" + cable(), "reading is [1]", "[[reading]]"),
    (cable() + '[meter]\nkind = "ohmmeter"\n', "meter is", "[meter.NAME]"),
    (cable(title='"Hall"'), "cable.title", "above the first table"),
    (fault().removeprefix(cable()), "[cable] is missing"),
    (cable() + table("[[fault]]", SHORT, {}) * 51, "number of faults is 51", "at most 50"),
    (cable() + table("[[reading]]", READING, {}) * 201, "number of readings is 201", "200"),
    # the cable
    (cable(construction='"parallell"'), "cable.construction", "did you mean parallel?"),
    (cable(heating_ohm_m="1600"), "cable.heating_ohm_m is for a parallel cable", "leave it out"),
    (
        cable(construction='"parallel"', heating_ohm_m="1600"),
        "cable.loop_resistance_ohm and heating_ohm_m are both given",
        "keep",
    ),
    (cable(construction='"twn"'), "cable.construction", "'twn'", "did you mean twin?"),
    (cable(construction=None), "cable.construction is missing", "twin, single or parallel"),
    (cable(heated_length_m=None), "cable.heated_length_m is missing", "metres"),
    (cable(heated_length_m="-3"), "cable.heated_length_m is -3", "above 0"),
    (cable(heated_length_m="0.0"), "cable.heated_length_m is 0.0", "above 0"),
    (cable(heated_length_m="nan"), "cable.heated_length_m is nan", "finite"),
    (cable(heated_length_m="inf"), "cable.heated_length_m is inf", "finite"),
    (cable(heated_length_m="1e999"), "cable.heated_length_m is inf", "finite"),
    (cable(heated_length_m="1e300"), "cable.heated_length_m is 1e+300", "at most 1000000"),
    (cable(heated_length_m="1" + "0" * 400), "cable.heated_length_m is 1000", "at most 1000000"),
    (cable(heated_length_m="true"), "cable.heated_length_m is true", "number"),
    (cable(heated_length_m='"30"'), "'30'", "bare number", "length with its unit"),
    (cable(heated_length_m='"30 f"'), "'30 f'", "bare number", '"98 ft 5 in"'),
    (cable(heated_length_m='"0 ft"'), "cable.heated_length_m is '0 ft'", "above 0"),
    (cable(heated_length_m='"9000 km"'), "cable.heated_length_m is '9000 km'", "number of metres"),
    (cable(loop_resistance_ohm='"88 ft"'), "loop_resistance_ohm is '88 ft'", "bare number"),
    (cable(insulation_gigaohm_m='"3 ft"'), "insulation_gigaohm_m is '3 ft'", "bare number"),
    (cable(heated_length_m="1979-05-27"), "cable.heated_length_m is 1979-05-27", "number"),
    (cable(loop_resistance_ohm='"88.2 ohm"'), "bare number, such as loop_resistance_ohm = 88.2"),
    (cable(loop_resistance_ohm='"88 m"'), "bare number, such as loop_resistance_ohm = 30.0"),
    (cable(power_watt="480"), "cable.power_watt is no key", "230 * 230 / 480 = 110.2"),
    (cable(loop_resistance_ohm="True"), "not valid TOML", "write true or false, in small letters"),
    (cable(lengh_m="30"), "cable.lengh_m", "did you mean heated_length_m, in metres?"),
    (cable(heated_length_mm="30"), "cable.heated_length_mm", "did you mean heated_length_m,"),
    (cable(length_ft="98"), "cable.length_ft", "did you mean heated_length_m, in metres?"),
    (cable(loop_resistance_kohm="1"), "did you mean loop_resistance_ohm, in ohms?"),
    (cable(temperature_f="70"), "did you mean temperature_c, in degrees Celsius?"),
    (cable(colour='"red"'), "cable.colour", "known are construction, heated_length_m"),
    (cable(velocity_factor="64.5"), "cable.velocity_factor is 64.5", "at most 1"),
    (cable(insulation='"XPLE"'), "cable.insulation is 'XPLE'", "did you mean XLPE?"),
    (cable(insulation="3"), "cable.insulation is 3", "text in quotes"),
    (cable(insulation_mm="0.8"), "cable.insulation_mm", "under [cable.geometry]"),
    (cable(core_awg="18"), "cable.core_awg", "under [cable.geometry]"),
    # further cables
    (other(name=None), "other 1: name is missing", 'such as name = "b"'),
    (other(name='"b.c"'), "other 1: name is 'b.c'", "a letter followed by"),
    (other(name="3"), "other 1: name is 3"),
    (other() + table("[[other]]", OTHER, {}), "other 2: name is 'b'", "a name of its own"),
    (other(supply_volt="230"), "other 1: supply_volt belongs to [cable]", "state it there"),
    (other(heated_length_m="-3"), "other 1: heated_length_m is -3", "above 0"),
    (other(lengh_m="3"), "other 1: lengh_m is not a known key", "did you mean heated_length_m"),
    (cable() + "[other]\nname = 3\n", "other is", "write [[other]] above each"),
    ('joins = [["core1", "b.core1"]]\n' + cable(), "joins stands without a second cable"),
    (cable(joins="[]"), "write joins above the first table"),
    (join('"b"'), "joins is 'b'", "a list"),
    (join('[["core1"]]'), "joins is [['core1']]", "a list"),
    (join('[["core1", "core1"]]'), "joins is ['core1', 'core1']", "two different terminals"),
    (join('[["core1", "c.core1"]]'), "joins: cable is 'c'", "one of b"),
    (join('[["core1", "b.core4"]]'), "joins: terminal is 'core4'", "did you mean"),
    (on(on='"c"'), "fault 1: on is 'c'", "one of b"),
    (on(on="3"), "fault 1: on is 3", "text in quotes"),
    (on(at_m="31"), "fault 1: at_m is 31", "from -2.5 to 30"),
    (on(on='"bb"'), "fault 1: on is 'bb'", "did you mean b?"),
    (other() + table("[[reading]]", READING, {"across": '["c.core1", "braid"]'}), "across", "'c'"),
    (other() + table("[[reading]]", READING, {"across": '["core1", "b.core1"]'}), "not joined"),
    (
        other() + table("[[reading]]", {"meter": '"heat"', "across": '["core1", "core2"]'}, {}),
        "the heat works on one cable by itself",
        "read each alone",
    ),
    # how it is made
    (cable(geometry="3"), "cable.geometry is 3", "a table", "[cable.geometry]"),
    (make(core_mm="0.6"), "cable.geometry.core_mm", "did you mean core_mm2, in square millimetres"),
    (make(insulation_cm="0.08"), "cable.geometry.insulation_cm", "insulation_mm, in millimetres"),
    (make(insulation_mm="0.0008"), "insulation_mm is 0.0008", "millimetres, at least 0.05"),
    (make(insulation_mm="800"), "cable.geometry.insulation_mm is 800", "at most 20"),
    (make(core_strand_mm="2e-4"), "core_strand_mm is 0.0002", "millimetres, at least 0.02"),
    (make(core_strand_mm='"8 mils"'), "core_strand_mm is '8 mils'", "bare number"),
    (make(core_mm2="1.5"), "core_strand_mm and core_mm2 are both given", "one of"),
    (make(core_strand_mm=None), "core_mm2 is missing", "core_strand_mm, core_mm2, core_awg"),
    (make(core_strands="7.5"), "cable.geometry.core_strands is 7.5", "a whole number"),
    (make(core_strand_mm=None, core_awg="18.5"), "geometry.core_awg is 18.5", "whole number"),
    (make(core_class="5"), "cable.geometry.core_class is 5", "nominal cross-section"),
    (make(cold_lead_mm2="1.3", cold_lead_class="5"), "geometry.cold_lead_class is 5", "0.75, 1"),
    (make(cold_lead_mm2="1.5", cold_lead_class="4"), "geometry.cold_lead_class is 4", "1, 2 or 5"),
    (make(core_strand_mm=None, core_mm2="1.5", core_class="5"), "core_class is 5", "CuNi44"),
    (make(braid_inside_mm="4.0"), "cable.geometry.braid_inside_mm is 4.0", "side by side, 4.4 mm"),
    (make(braid_mm2="1", braid_wires="5"), "braid_mm2 and braid_wires are both given"),
    (make(braid_wires="5"), "cable.geometry.braid_carriers is missing", "braid_angle_deg"),
    (make(braid_alloy='"coper"'), "geometry.braid_alloy is 'coper'", "did you mean copper?"),
    (make(zone_m="0.6"), "heating_wire_ohm_per_m and zone_m belong together"),
    (make(zone_m="0.6", heating_wire_ohm_per_m="9e3"), "geometry.zone_m is 0.6", "twin cable"),
    (
        cable(loop_resistance_ohm=None) + table("[cable.geometry]", MAKE, {}),
        "cable.core_alloy is missing",
        "loop_resistance_ohm",
    ),
    (cable(loop_resistance_ohm=None), "cable.loop_resistance_ohm", "core_ohm_per_m", "add"),
    (cable(core_ohm_per_m="[1.4, 1.6]"), "loop_resistance_ohm and core_ohm_per_m", "keep"),
    (cable(loop_resistance_ohm=None, core_ohm_per_m="[1.4]"), "core_ohm_per_m is [1.4]", "core2"),
    (cable(loop_resistance_ohm=None, core_ohm_per_m="1.4"), "core_ohm_per_m is 1.4", "a list"),
    (cable(loop_resistance_ohm="1e-9"), "cable.loop_resistance_ohm is 1e-09", "at least"),
    (cable(loop_resistance_ohm="5e-8"), "cable.loop_resistance_ohm is 5e-08", "at least 6e-05"),
    (
        cable(construction='"parallel"', loop_resistance_ohm="1e-6"),
        "cable.loop_resistance_ohm is 1e-06",
        "at least 3.33333e-05",
    ),
    (cable(heated_length_m="1e-300"), "cable.heated_length_m is 1e-300", "at least 0.001"),
    (cable(insulation_gigaohm_m="1e-8"), "insulation_gigaohm_m is 1e-08", "at least 1e-06"),
    (cable(cold_lead_insulation_gigaohm_m="1e-8"), "is 1e-08", "at least 1e-06"),
    (cable(braid_ohm_per_m="1e-9"), "cable.braid_ohm_per_m is 1e-09", "at least 1e-06"),
    (cable(cold_lead_ohm_per_m="1e-9"), "cold_lead_ohm_per_m is 1e-09", "at least 1e-06"),
    (cable(tolerance_percent="[-99.9, 0]"), "tolerance_percent is [-99.9, 0.0]", "from -99 to 0"),
    (cable(tolerance_percent="10"), "cable.tolerance_percent is 10", "[-5.0, 10.0]"),
    (cable(tolerance_percent="[5, 10]"), "cable.tolerance_percent is [5.0, 10.0]", "[-5.0, 10.0]"),
    (cable(tolerance_percent="[-5, nan]"), "cable.tolerance_percent is [-5, nan]", "finite"),
    (cable(core_alloy='"CuNi4"'), "cable.core_alloy is 'CuNi4'", "did you mean CuNi44?"),
    (cable(far_end='"closed"'), "cable.far_end is 'closed'", "joined or open"),
    (cable(construction='"single"', far_end='"joined"'), "cable.far_end is 'joined'", '"open"'),
    # the faults
    (fault(on='"b"'), "on is 'b'", "left out where there is no [[other]] cable"),
    (fault(kind=None), "fault 1: kind is missing", "short, break, joint, degraded"),
    (fault(kind='"shrt"'), "fault 1: kind is 'shrt'", "did you mean short?"),
    (fault(kind='"flashover"'), "resistance_ohm is not a known key of a flashover", "leakage_ohm"),
    (arc(breakdown_volt="0"), "fault 1: breakdown_volt is 0", "above 0"),
    (arc(breakdown_volt=None), "fault 1: breakdown_volt is missing", "volts"),
    (arc(arc_volt="2000"), "fault 1: arc_volt is 2000", "at most breakdown_volt"),
    (arc(leakage_ohm="0"), "fault 1: leakage_ohm is 0", "at least 1e-06"),
    (arc(at_m="99"), "fault 1: at_m is 99", "from -2.5 to 30"),
    (fault(drift_percent="-1"), "fault 1: drift_percent is -1", "at least 0"),
    (leak(drift_percent="2000"), "fault 1: drift_percent is 2000", "at most 1000"),
    (arc(drift_percent="3"), "drift_percent is not a known key of a flashover"),
    (cable(absorption_exponent="0.1"), "cable.absorption_exponent is 0.1", "at least 0.3"),
    (cable(absorption_factor="-1"), "cable.absorption_factor is -1", "at least 0"),
    (fault(kind="[]"), "fault 1: kind is []", "short, break, joint, degraded"),
    (fault(at_m=None), "fault 1: at_m is missing", "metres"),
    (fault(at_m="31.0"), "fault 1: at_m is 31.0", "from -2.5 to 30"),
    (fault(at_m="-2.6"), "fault 1: at_m is -2.6", "from -2.5 to 30"),
    (fault(at_m='"near the door"'), "fault 1: at_m is 'near the door'", "number of metres"),
    (fault() + table("[[fault]]", SHORT, {"at_m": "99"}), "fault 2: at_m is 99.0"),
    (fault(between='["core1", "brade"]'), "fault 1: between is 'brade'", "did you mean braid?"),
    (fault(between='["core1", "core1"]'), "fault 1: between", "two different conductors"),
    (fault(between='"core1"'), "fault 1: between is 'core1'", '["core1", "braid"]'),
    (fault(resistance_ohm="-1"), "fault 1: resistance_ohm is -1", "at least 0"),
    (fault(resistance_ohm="inf"), "fault 1: resistance_ohm is inf", "no fault"),
    (fault(at_mm="3"), "fault 1: at_mm", "did you mean at_m, in metres?"),
    (fault(side='"left"'), "fault 1: side is 'left'", "near or far"),
    (cut(conductors="[]"), "fault 1: conductors is []", '["core1"]'),
    (cut(conductors='["core1", "core1"]'), "fault 1: conductors", "different conductors"),
    (cut(), "fault 1: conductors is missing"),
    (cut(between='["core1"]'), "fault 1: between is not a known key of a break", "conductors"),
    (cut(kind='"joint"', conductor='"core9"', resistance_ohm="1"), "conductor is 'core9'", "core2"),
    (leak(at_m=None), "fault 1: at_m, or from_m and to_m", "no position"),
    (leak(from_m="3"), "fault 1: at_m, or from_m and to_m", "at_m and from_m"),
    (leak(at_m=None, from_m="9", to_m="3"), "fault 1: to_m is 3.0", "at least from_m"),
    (leak(at_m=None, from_m="9", to_m="99"), "fault 1: to_m is 99.0", "from -2.5 to 30"),
    # the meters
    (meter(kind=None), "meter.pocket.kind is missing", "ohmmeter"),
    (meter(kind='"ohmeter"'), "meter.pocket.kind is 'ohmeter'", "did you mean ohmmeter?"),
    (meter(kind='"pulse_echo"', rise_ns="0"), "meter.pocket.rise_ns is 0", "at least 0.001"),
    (meter(kind='"pulse_echo"', width_ns="1"), "meter.pocket.width_ns is 1.0", "at least 3"),
    (meter(kind='"pulse_echo"', range_ns="5"), "meter.pocket.range_ns is 5.0", "resolution_ns"),
    (meter(kind='"pulse_echo"', counts="9"), "meter.pocket.counts is not a known key"),
    (meter(kind='"pulse_echo"', velocity="0.6"), "meter.pocket.velocity is not a known key"),
    (meter(accuracy="1"), "meter.pocket.accuracy", "did you mean accuracy_percent"),
    (meter(counts="0"), "meter.pocket.counts is 0", "at least 10"),
    (meter(zeroed='"yes"'), "meter.pocket.zeroed is 'yes'", "true or false"),
    (meter(range_kohm="2"), "meter.pocket.range_kohm", "did you mean range_ohm, in ohms?"),
    (meter(range_ohm="1"), "meter.pocket.range_ohm is 1.0", "at least", "resolution_ohm"),
    (meter(kind='"loop_bridge"', range_ohm="0.5"), "meter.pocket.range_ohm is 0.5", "at least"),
    (meter(kind='"insulation_tester"', lead_ohm="1"), "meter.pocket.lead_ohm", "known are"),
    (cable() + '[meter.ohmmeter]\nkind = "loop_bridge"\n', "meter.ohmmeter", "another name"),
    (cable() + '[meter."my meter"]\nkind = "ohmmeter"\n', "'my meter'", "a letter followed"),
    (cable() + "".join(f"[meter.m{k}]\n" for k in range(51)), "number of meters is 51", "50"),
    # the readings
    (reading(meter=None), "reading 1: meter is missing"),
    (reading(meter='"ohmeter"'), "reading 1: meter is 'ohmeter'", "did you mean ohmmeter?"),
    (meter() + reading(meter='"pokcet"').removeprefix(cable()), "did you mean pocket?"),
    (warm(warm_to_m="-1"), "reading 1: warm_to_m is -1", "at least 0"),
    (warm(seen_at_m="3.0"), "warm_to_m and seen_at_m are several values", "keep one"),
    (warm(within_m="0"), "reading 1: within_m is 0", "above 0"),
    (warm(sought='"edge"'), "sought is for a reading without a place", "leave one of them out"),
    (warm(warm_to_m=None, sought='"glow"'), "sought is 'glow'", "edge or spot"),
    (warm(warm_to_m=None, ohm="3"), "ohm is not a known key of a reading with a heat"),
    (warm(warm_to_m=None, warm_to_ft="3"), "did you mean warm_to_m, in metres?"),
    (reading(warm_to_m="3.0"), "warm_to_m is not a known key of a reading with an ohmmeter"),
    (meter(kind='"heat"', counts="9"), "meter.pocket.counts is not a known key"),
    (reading(meter="3"), "reading 1: meter is 3", "text in quotes"),
    (reading(ohm='"112,2"'), "reading 1: ohm is '112,2'", "decimal point", "such as ohm = 112.2"),
    (reading(ohm=""), "line 8", "invalid value", "write a value after ohm ="),
    (reading(ohm="# later"), "line 8", "invalid value", "write a value after ohm ="),
    (reading(across=None), "reading 1: across is missing", '["core1", "braid"]'),
    (reading(across='["core1"]'), "reading 1: across is ['core1']", "a list of 2"),
    (reading(across='["core1", "core1"]'), "reading 1: across", "core1 is touched more than once"),
    (reading(across='["core1+core2", "core2"]'), "reading 1: across", "core2 is touched"),
    (reading(across='["core1", "core2", "braid"]'), "reading 1: across", "2 entries"),
    (reading(across='["core1", "cor2"]'), "reading 1: across", "'cor2'", "did you mean core2?"),
    (reading(across='["core1", "core2@fra"]'), "reading 1: across", "did you mean core2@far?"),
    (reading(across='["core1", ""]'), "reading 1: across", "terminal is ''", "core1@far"),
    (reading(across='["core1@far", "core2@far"]'), "reading 1: across", "far-end joint ties"),
    (reading(links='[["core1"]]'), "reading 1: links", '[["core1@far", "core2@far"]]'),
    (reading(links='[["core1", "x"]]'), "reading 1: links", "terminal is 'x'"),
    (reading(ohm="-0.1"), "reading 1: ohm is -0.1", "at least 0"),
    (reading(ohm="[87.7, 87.8]"), "reading 1: ohm is [87.7, 87.8]", "a [[reading]] of its own"),
    (reading(ohm='"OL"'), "reading 1: ohm is 'OL'", "over_range = true"),
    (reading(ohm="inf"), "reading 1: ohm is inf", "over_range = true"),
    (reading(ohm="nan"), "reading 1: ohm is nan", "leave out a reading that was not taken"),
    (reading(over_range="true"), "reading 1: ohm and over_range are several values"),
    (reading(over_range="1", ohm=None), "reading 1: over_range is 1", "true or false"),
    (reading(megohm="3"), "reading 1: megohm", "did you mean ohm, in ohms?"),
    (reading(ohms="3"), "reading 1: ohms", "did you mean ohm, in ohms?"),
    (reading(test_volt="500"), "reading 1: test_volt is not a known key of a reading with an ohm"),
    (insulation(ohm="3"), "reading 1: ohm is not a known key", "did you mean megohm"),
    (insulation(megohm="3", at_least_megohm="3"), "megohm and at_least_megohm are several values"),
    (insulation(megohm="3", seconds="-1"), "reading 1: seconds is -1", "above 0"),
    (insulation(megohm="3", limit_milliamp="2"), "limit_milliamp is not a known key of a reading"),
    (withstand(trip_volt="900", no_trip="true"), "trip_volt and no_trip are several values"),
    (withstand(trip_volt="0"), "reading 1: trip_volt is 0", "above 0"),
    (withstand(trip_volt='"OL"'), "reading 1: trip_volt is 'OL'", "number"),
    (withstand(no_trip='"yes"'), "reading 1: no_trip is 'yes'", "true or false"),
    (withstand(ohm="3"), "reading 1: ohm is not a known key of a reading with a withstand"),
    (withstand(limit_milliamp="0"), "reading 1: limit_milliamp is 0", "above 0"),
    (reading(ohm=None, unsteady="true"), "unsteady is said of a reading without a value"),
    (reading(unsteady="1"), "reading 1: unsteady is 1", "true or false"),
    (meter(kind='"insulation_tester"', limit_milliamp="20"), "limit_milliamp is 20", "at most 15"),
    (meter(kind='"insulation_tester"', open_volt_percent="100"), "open_volt_percent is 100"),
    (meter(kind='"withstand_tester"', range_volt="50"), "meter.pocket.range_volt is 50", "least"),
    (meter(kind='"withstand_tester"', least_volt="9000"), "meter.pocket.least_volt is 9000"),
    (meter(kind='"withstand_tester"', counts="9"), "meter.pocket.counts is not a known key"),
    (insulation(megohm="3", test_volt="1e6"), "reading 1: test_volt is 1000000.0", "at most"),
    (balance(method=None), "reading 1: method is missing", "murray"),
    (balance(method='"murry"'), "reading 1: method is 'murry'", "did you mean murray?"),
    (balance(across='["core1", "braid"]'), "reading 1: across", "3 entries"),
    (balance(arms_ohm="[1000]"), "reading 1: arms_ohm is [1000]", "a list of 2"),
    (balance(arms_ohm="[0, 0]"), "reading 1: arms_ohm is [0.0, 0.0]", "above 0"),
    (balance(balance_ohm="3"), "reading 1: balance_ohm is 3.0", "left out", "arms_ohm"),
    (balance(frequency_hz="100"), "reading 1: frequency_hz is 100.0", "left out"),
    (balance(over_range="true"), "reading 1: arms_ohm and over_range are several values"),
    (varley(arms_ohm=None, balance_ohm="3"), "reading 1: arms_ohm is missing"),
    (varley(arms_ohm="[0, 1]"), "reading 1: arms_ohm is [0.0, 1.0]", "above 0"),
    (echo(echo_ns='"late"'), "reading 1: echo_ns is 'late'", "number of nanoseconds"),
    (echo(echo_ns="-5"), "reading 1: echo_ns is -5", "at least 0"),
    (echo(echo_us="0.15"), "reading 1: echo_us", "echo_ns"),
    (echo(sign='"down"'), "reading 1: sign is 'down'", "+ or -"),
    (echo(over_range="true"), "reading 1: echo_ns and over_range are several values"),
    (echo(trace='"a.csv"'), "reading 1: echo_ns and trace are several values"),
    (echo(across='["core1", "braid@far"]'), "reading 1: across", "one and the same end"),
    (echo(across='["core1@far", "braid@far"]'), "reading 1: across", "the near one"),
    (echo(echo_ns=None, trace='"no-such.csv"'), "reading 1: trace: no-such.csv", "cannot be read"),
    (echo(echo_ns=None, trace='"."'), "reading 1: trace: ", "no regular file"),
    (echo(echo_ns=None, trace='""'), "reading 1: trace is ''", "text in quotes"),
    (echo(echo_ns=None, trace='"a\\u0000b"'), "reading 1: trace: ", "cannot be read"),
    (echo(healthy_trace='"a.csv"'), "reading 1: healthy_trace stands without trace"),
    (reading(echo_ns="154"), "reading 1: echo_ns is not a known key of a reading with an ohmmeter"),
    (varley(balance_ohm="3", over_range="true"), "balance_ohm and over_range are several values"),
]


def a_name_for(row):
    return row[1] + (f" ({row[2]})" if len(row) > 2 else "")


@pytest.mark.parametrize("row", FILES, ids=a_name_for)
def test_a_malformed_file_gives_one_sentence(row):
    text, *words = row
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, file="hall.toml")
    said = str(caught.value)
    assert said.startswith("In hall.toml")
    assert all(word in said for word in words), said
    assert said.isprintable(), "a message stays on one line, without control characters"
    assert len(said) < 600


HOSTILE = [
    cable(**{'"\\u001b[2J\\u0007"': "1"}),
    cable(**{'"a\\nb"': "1"}),
    cable(**{"x" * 3000: "1"}),
    cable(core_alloy='"\\u001b[31mred\\u202e"'),
    cable(core_alloy=f'"{"x" * 3000}"'),
    fault(kind=f'"{"k" * 3000}"'),
    fault(between=f'["{"k" * 39}", "\\u0000"]'),
    reading(meter=f'"{"m" * 3000}"'),
    reading(meter='"\\u0007"'),
    reading(across='["\\u001b]0;x\\u0007", "braid"]'),
    reading(across="[" + '"core1", ' * 400 + "]"),
    cable() + f'[meter."{"m" * 3000}"]\n',
    cable() + '[meter."\\u0007"]\n',
    cable(heated_length_m="[" * 40 + "]" * 40),
    cable(heated_length_m="{a = " * 40 + "1" + "}" * 40),
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_message_echoes_nothing_huge_and_nothing_that_steers_a_terminal(text):
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, file="hall.toml")
    said = str(caught.value)
    assert said.isprintable()
    assert len(said) < 600


def test_without_a_file_name_the_sentence_starts_with_the_key():
    with pytest.raises(ScenarioError, match=r"^cable\.heated_length_m is -1"):
        parse_scenario(cable(heated_length_m="-1"))
    with pytest.raises(ScenarioError, match=r"^In fault 1: at_m is 99"):
        parse_scenario(fault(at_m="99"))


def test_the_rows_are_malformed_by_their_change_only():
    for sound in (
        cable(),
        make(),
        fault(),
        cut(conductors='["core1"]'),
        leak(),
        reading(),
        meter(),
    ):
        parse_scenario(sound)
    for sound in (
        insulation(megohm="3"),
        withstand(trip_volt="900"),
        arc(),
        balance(),
        varley(balance_ohm="3"),
    ):
        parse_scenario(sound)
