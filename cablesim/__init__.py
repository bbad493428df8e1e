"""Simulate a damaged electric floor-heating cable and locate what is broken from meter readings.

This is the public face: every name below can be had as ``cablesim.<name>``. Nothing is computed
here, and a name's home module is imported when the name is first used, so that ``import cablesim``
stays light.

To offer a new name, add it to both lists below; a test keeps the two in step.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cablesim.cable.braid import Braid as Braid
    from cablesim.cable.cable import Cable as Cable
    from cablesim.cable.conductors import Conductor as Conductor
    from cablesim.cable.faults import Break as Break
    from cablesim.cable.faults import Degraded as Degraded
    from cablesim.cable.faults import Flashover as Flashover
    from cablesim.cable.faults import Joint as Joint
    from cablesim.cable.faults import Short as Short
    from cablesim.cable.geometry import Geometry as Geometry
    from cablesim.errors import CablesimError as CablesimError
    from cablesim.errors import InputError as InputError
    from cablesim.errors import ScenarioError as ScenarioError
    from cablesim.instruments.insulation_tester import InsulationTester as InsulationTester
    from cablesim.instruments.loop_bridge import LoopBridge as LoopBridge
    from cablesim.instruments.meter import Setting as Setting
    from cablesim.instruments.meters import CapacitanceMeter as CapacitanceMeter
    from cablesim.instruments.meters import HeatSurvey as HeatSurvey
    from cablesim.instruments.meters import Ohmmeter as Ohmmeter
    from cablesim.instruments.pulse_echo import PulseEcho as PulseEcho
    from cablesim.instruments.readings import Probe as Probe
    from cablesim.instruments.readings import Reading as Reading
    from cablesim.instruments.readings import measure as measure
    from cablesim.instruments.readings import predict as predict
    from cablesim.instruments.withstand_tester import WithstandTester as WithstandTester
    from cablesim.line.energised import energise as energise
    from cablesim.line.energised import power_profile as power_profile
    from cablesim.line.several import Installation as Installation
    from cablesim.line.supply import usual_supply as usual_supply
    from cablesim.line.terminals import Hookup as Hookup
    from cablesim.report.notebook import as_html as as_html
    from cablesim.scenario.reading import load_scenario as load_scenario
    from cablesim.scenario.reading import parse_scenario as parse_scenario
    from cablesim.scenario.scenario import Scenario as Scenario
    from cablesim.scenario.writing import dump_scenario as dump_scenario
    from cablesim.scenario.writing import save_scenario as save_scenario

__version__ = "0.1.0"

_HOME = {
    "Braid": "cablesim.cable.braid",
    "Cable": "cablesim.cable.cable",
    "Conductor": "cablesim.cable.conductors",
    "Break": "cablesim.cable.faults",
    "Degraded": "cablesim.cable.faults",
    "Flashover": "cablesim.cable.faults",
    "Joint": "cablesim.cable.faults",
    "Short": "cablesim.cable.faults",
    "Geometry": "cablesim.cable.geometry",
    "CablesimError": "cablesim.errors",
    "InputError": "cablesim.errors",
    "ScenarioError": "cablesim.errors",
    "CapacitanceMeter": "cablesim.instruments.meters",
    "HeatSurvey": "cablesim.instruments.meters",
    "InsulationTester": "cablesim.instruments.insulation_tester",
    "LoopBridge": "cablesim.instruments.loop_bridge",
    "Ohmmeter": "cablesim.instruments.meters",
    "Setting": "cablesim.instruments.meter",
    "PulseEcho": "cablesim.instruments.pulse_echo",
    "Probe": "cablesim.instruments.readings",
    "Reading": "cablesim.instruments.readings",
    "WithstandTester": "cablesim.instruments.withstand_tester",
    "measure": "cablesim.instruments.readings",
    "predict": "cablesim.instruments.readings",
    "energise": "cablesim.line.energised",
    "power_profile": "cablesim.line.energised",
    "Installation": "cablesim.line.several",
    "usual_supply": "cablesim.line.supply",
    "Hookup": "cablesim.line.terminals",
    "as_html": "cablesim.report.notebook",
    "load_scenario": "cablesim.scenario.reading",
    "parse_scenario": "cablesim.scenario.reading",
    "Scenario": "cablesim.scenario.scenario",
    "dump_scenario": "cablesim.scenario.writing",
    "save_scenario": "cablesim.scenario.writing",
}

__all__ = sorted(["__version__", *_HOME])


def __getattr__(name: str) -> object:
    """Import a public name from its home module, once (PEP 562)."""
    home = _HOME.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(home), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *__all__})
