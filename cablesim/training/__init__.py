"""Training: cases of a known difficulty, sheets, live drills, marking.

What a notebook or a learning platform needs is here by name, and is imported when first used:

>>> from cablesim.training import Syllabus, make_case
>>> case = make_case(Syllabus(number=1, seed=11, levels=(1,), kinds=("short",)), 1)
>>> case.key.level
1
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cablesim.training.bench import Bench as Bench
    from cablesim.training.case import Case as Case
    from cablesim.training.case import load_case as load_case
    from cablesim.training.case import save_case as save_case
    from cablesim.training.class_figure import class_png as class_png
    from cablesim.training.class_table import ClassTable as ClassTable
    from cablesim.training.class_table import csv_of as csv_of
    from cablesim.training.drill import step as step
    from cablesim.training.log import dump_log as dump_log
    from cablesim.training.log import load_log as load_log
    from cablesim.training.log import parse_log as parse_log
    from cablesim.training.log import played as played
    from cablesim.training.making import make_case as make_case
    from cablesim.training.making import make_cases as make_cases
    from cablesim.training.marking import Mark as Mark
    from cablesim.training.marking import mark_case as mark_case
    from cablesim.training.playing import Drill as Drill
    from cablesim.training.playing import world_of as world_of
    from cablesim.training.recording import log_of as log_of
    from cablesim.training.sheets.job import job_sheet as job_sheet
    from cablesim.training.sheets.key import key_sheet as key_sheet
    from cablesim.training.sheets.pages import pdf_of as pdf_of
    from cablesim.training.speech import heard as heard
    from cablesim.training.state import State as State
    from cablesim.training.state import World as World
    from cablesim.training.syllabus import Syllabus as Syllabus

_HOME = {
    "Bench": "bench",
    "Case": "case",
    "ClassTable": "class_table",
    "Drill": "playing",
    "Mark": "marking",
    "State": "state",
    "Syllabus": "syllabus",
    "World": "state",
    "class_png": "class_figure",
    "csv_of": "class_table",
    "dump_log": "log",
    "heard": "speech",
    "job_sheet": "sheets.job",
    "key_sheet": "sheets.key",
    "load_case": "case",
    "load_log": "log",
    "log_of": "recording",
    "make_case": "making",
    "make_cases": "making",
    "mark_case": "marking",
    "parse_log": "log",
    "pdf_of": "sheets.pages",
    "played": "log",
    "save_case": "case",
    "step": "drill",
    "world_of": "playing",
}

__all__ = [
    "Bench",
    "Case",
    "ClassTable",
    "Drill",
    "Mark",
    "State",
    "Syllabus",
    "World",
    "class_png",
    "csv_of",
    "dump_log",
    "heard",
    "job_sheet",
    "key_sheet",
    "load_case",
    "load_log",
    "log_of",
    "make_case",
    "make_cases",
    "mark_case",
    "parse_log",
    "pdf_of",
    "played",
    "save_case",
    "step",
    "world_of",
]


def __getattr__(name: str) -> object:
    """Import a name from its home module, once (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value
