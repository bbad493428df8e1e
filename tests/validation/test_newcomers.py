"""The script that follows the first steps finds what each page asks for."""

import pytest
from validation.newcomers import READERS, TOP, install_of, steps_of

PAGES = {name: (TOP / "docs/start" / f"{name}.md").read_text("utf-8") for name in READERS}


@pytest.mark.parametrize("reader", READERS)
def test_every_page_has_its_first_useful_result(reader):
    steps = list(steps_of(PAGES[reader]))
    assert any(step.text.startswith(READERS[reader]) for step in steps)
    assert not any("pip install" in step.text for step in steps)
    # A command that is typed stands in a block that is followed.
    typed = PAGES[reader].count("\n$ ")
    assert sum(not step.python for step in steps) >= typed > 0


def test_the_installation_is_that_of_the_page():
    install = install_of(PAGES["at-the-floor"])
    assert install.splitlines()[0].startswith("python3 -m venv")
    assert "pip install ." in install
