"""``cablesim predict``: what each meter shows, healthy beside damaged."""

from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, ScenarioFile
from cablesim.cli.screen import note, show, show_json

__all__ = ["predict"]


def predict(
    scenario: ScenarioFile,
    as_json: AsJson = False,
) -> None:
    """Say what each meter shows, healthy beside damaged.

    The readings are those of the file, or the usual ones where it has none.
    """
    from cablesim.instruments.standard import standard_probes
    from cablesim.report.predicted import predicted

    found = loaded(scenario)
    rows = predicted(found.laid, found.faults, found.probes or standard_probes(found.cable))
    if not any(part.faults for part in found.parts):
        note(f"{scenario} states no fault: damaged is the same as healthy.")
    if as_json:
        show_json({"readings": [row.to_dict() for row in rows]})
        return
    from cablesim.report.tables import readings_table

    taken = [entry.reading for entry in found.entries]
    show(readings_table(rows, found.title or scenario, taken))
