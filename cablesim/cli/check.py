"""``cablesim check``: whether a scenario file can be used, and what it says."""

from pathlib import Path

from cablesim.cli.loading import loaded
from cablesim.cli.options import ScenarioFile
from cablesim.cli.screen import emit, show

__all__ = ["check"]


def check(
    scenario: ScenarioFile,
) -> None:
    """Check a scenario file, and say what it says."""
    from cablesim.report.tables import lengths_table, scenario_table
    from cablesim.scenario.lengths import written_lengths

    found = loaded(scenario)
    # A path is never folded: it may be copied from here.
    emit(f"{scenario} can be used.\n\n")
    show(scenario_table(found))
    if written := written_lengths(Path(scenario).read_text(encoding="utf-8-sig")):
        show("", lengths_table(written))
