"""``cablesim check``, and what all commands do with files that cannot be used."""

import pytest

from cablesim.scenario.shipped import shipped_directory


def test_says_what_a_file_says(cablesim, scenario):
    done = cablesim("check", scenario())
    assert (done.code, done.err) == (0, "")
    said = " ".join(done.out.split())  # a long path breaks its line
    for wanted in (
        "can be used",
        "twin, 30 m heated, 88.2 ohm",
        "short between core1 and braid, 12.40 m from the cold joint, 55 ohm",
        "pocket (ohmmeter)",
        "3 taken, 0 to predict",
    ):
        assert wanted in said


def test_a_long_path_is_not_folded(cablesim, scenario):
    path = scenario(name=f"{'a-long-way-to-the-hall-' * 5}.toml")
    assert cablesim("check", path).out.startswith(f"{path} can be used.\n")


@pytest.mark.parametrize("path", sorted(shipped_directory().rglob("*.toml")), ids=lambda p: p.stem)
def test_every_shipped_scenario_can_be_used(cablesim, path):
    assert cablesim("check", path).code == 0
    assert cablesim("predict", path).code == 0


@pytest.mark.parametrize("command", ["check", "predict", "locate"])
@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        (("heated_length_m", "heated_lenght_m"), "heated_length_m"),
        (("= 30.0", "= -30.0"), "heated_length_m"),
        (("= 30.0", '= "thirty"'), "heated_length_m"),
        (("at_m = 12.4", "at_m = 99.0"), "at_m"),
        (('"core1", "braid"', '"core7", "braid"'), "core7"),
        (("[cable]", "[cable"), "TOML"),
        (("format = 1", "format = 2"), "format"),
    ],
)
def test_malformed_input_is_one_sentence(refused, scenario, command, change, wanted):
    path = scenario(change)
    message = refused(command, path)
    assert wanted in message
    assert str(path) in message


@pytest.mark.parametrize("command", ["check", "predict", "locate"])
@pytest.mark.parametrize("name", ["-", "no-such-file.toml", "."])
def test_a_missing_file_or_a_folder_is_one_sentence(refused, monkeypatch, tmp_path, command, name):
    monkeypatch.chdir(tmp_path)
    assert name in refused(command, name)


def test_bytes_that_are_no_text_are_one_sentence(refused, tmp_path):
    path = tmp_path / "image.toml"
    path.write_bytes(bytes(range(256)))
    assert "UTF-8" in refused("check", path)


def test_lengths_in_feet_are_echoed_in_metres_and_odd_ones_asked_about(cablesim, tmp_path):
    file = tmp_path / "hall.toml"
    file.write_text(
        '[cable]\nconstruction = "twin"\nloop_resistance_ohm = 88.2\nheated_length_m = "40 km"\n'
        'cold_lead_m = "8 ft 6 in"\n'
    )
    done = cablesim("check", file)
    assert done.code == 0
    assert "8 ft 6 in = 2.5908 m" in done.out
    assert "40 km = 40000 m" in done.out
    assert "far from that of a floor cable" in done.err


def test_a_layer_that_is_hardly_there_or_thicker_than_a_house_is_asked_about(cablesim, scenario):
    layers = '[floor]\nlayers = [{ material = "tile", thickness_mm = 0.012 }, '
    layers += '{ material = "screed", thickness_mm = 45.0 }]\n\n'
    file = scenario(("[cable]", layers + "[cable]"))
    told = "caution: A layer of tile of 0.012 mm is far from usual (0.2 to 500 mm): is it in"
    for command in (("check",), ("heat", "--watt", 1, "--burst", 2, 3, 1, "--depth-mm", 10)):
        done = cablesim(command[0], file, *command[1:])
        assert done.code == 0
        assert done.err.count("caution: A layer of") == 1
        assert told in done.err


def test_leads_of_many_ohms_are_asked_about(cablesim, scenario):
    done = cablesim("check", scenario(("lead_ohm = 0.2", "lead_ohm = 20.0")))
    assert done.code == 0
    assert "caution: The leads of meter pocket have 20 ohm" in done.err


def test_no_name_is_no_file(refused):
    assert "The name of the file is empty" in refused("check", "")


def test_a_length_option_takes_a_unit(cablesim, scenario):
    file = scenario()
    feet, metres = (cablesim("limits", file, "--at", at, "--json") for at in ("40 ft", "12.192"))
    assert feet.out == metres.out
    wrong = cablesim("limits", file, "--at", "forty")
    assert wrong.code == 2
    assert "'forty' is no length" in wrong.err
