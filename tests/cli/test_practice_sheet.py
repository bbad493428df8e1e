"""``cablesim practice sheet``: two files, or one sentence."""

import re

import pytest
from training.drill_cases import a_case

from cablesim.training.case import save_case


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    save_case(a_case(), tmp_path)
    return tmp_path


def test_a_set_and_its_key_go_into_two_files(cablesim, folder):
    # A pattern such as hall*.toml matches the key too: that is the same case.
    both = ("hall.toml", "hall.key.toml", "./hall.toml")
    arguments = ("practice", "sheet", *both, "--output", "set.pdf", "--key", "key.pdf")
    done = cablesim(*arguments, "--paper", "letter")
    assert done.code == 0 and done.out == ""
    before = {name: (folder / name).read_bytes() for name in ("set.pdf", "key.pdf")}
    assert all(content.startswith(b"%PDF") for content in before.values())
    assert len(re.findall(rb"/Type /Page\b", before["set.pdf"])) == 3
    again = cablesim(*arguments)
    assert again.code == 2 and "--force" in again.err
    assert {name: (folder / name).read_bytes() for name in before} == before


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("hall.toml", "--output", "set.txt"), "a name ending in .pdf"),
        (("hall.toml", "--output", "set.pdf", "--key", "./set.pdf"), "name two"),
        (("hall.toml", "--output", "set.pdf", "--paper", "A3"), "A4 or Letter"),
        (("attic.toml", "--output", "set.pdf"), "In attic.key.toml: there is no such file"),
    ],
)
def test_what_cannot_be_printed_is_said_in_one_sentence(cablesim, folder, arguments, said):
    done = cablesim("practice", "sheet", *arguments)
    assert done.code == 2 and said in done.err and done.err.count("\n") == 1
    assert not list(folder.glob("*.pdf"))
