"""A drill being played: a case, its world, its journal, and what a typed line does."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from cablesim.errors import InputError
from cablesim.training.acts import Act
from cablesim.training.bench import Bench
from cablesim.training.case import Case
from cablesim.training.drill import Seen, replayed, step
from cablesim.training.journal import Journal, Opening, acts_of
from cablesim.training.log_tables import MOST_NAME
from cablesim.training.speech import Heard, heard
from cablesim.training.state import State, World

__all__ = ["Drill", "world_of"]


def world_of(case: Case) -> World:
    """What a drill on a case is played in.

    Parameters
    ----------
    case
        With its key.
    """
    return World(
        cable=case.cable,
        meters=case.scenario.meters,
        bench=Bench(case.true_cable, case.faults, case.key.seed),
        plan=case.scenario.plan,
        covered=case.covered,
    )


@dataclass(slots=True)
class Drill:
    """A drill with its journal: resumed where it was left.

    Parameters
    ----------
    case
        With its key.
    journal
        Open for writing.
    """

    case: Case
    journal: Journal
    world: World = field(init=False)
    state: State = field(init=False)
    acts: tuple[Act, ...] = field(init=False)
    trainee: str = field(init=False)

    def __post_init__(self) -> None:
        self.world = world_of(self.case)
        self.acts = acts_of(self.journal.entries)
        self.trainee = self.journal.opening.trainee
        self.state = replayed(self.world, self.acts)

    @classmethod
    def at(cls, case: Case, path: Path, *, trainee: str = "", anew: bool = False) -> Drill:
        """Begin or resume a drill.

        Parameters
        ----------
        case
            With its key.
        path
            The journal.
        trainee
            Who practises.
        anew
            Whether an earlier drill in this journal is dropped.

        Raises
        ------
        InputError
            If the journal cannot be used, or the name is longer than a log may have it.
        """
        if len(trainee) > MOST_NAME:
            raise InputError("the trainee's name", trainee, f"at most {MOST_NAME} characters")
        opening = Opening(case.name, case.key.trainee_sha256, trainee)
        return cls(case, Journal(path, opening, anew=anew))

    @property
    def script_line(self) -> int:
        """The last line of a script that was done; 0 for none."""
        return max((entry.line or 0 for entry in self.journal.entries), default=0)

    def hear(self, line: str) -> Heard:
        """Understand a line, and do nothing yet.

        Raises
        ------
        InputError
            If it cannot be understood.
        """
        return heard(line, self.case.cable, self.case.scenario.meters)

    def do(self, said: Heard, line: int | None = None) -> list[Seen]:
        """Write acts into the journal, then do them until one is refused or ends the drill.

        Parameters
        ----------
        said
            What to do.
        line
            Number of the line in a script.
        """
        done, state, seen = self._tried(said)
        if not done:
            return []
        self.journal.append(done, line)
        self.acts += tuple(done)
        self.state = state
        return seen

    def _tried(self, said: Heard) -> tuple[list[Act], State, list[Seen]]:
        """The acts as far as they go, before anything is shown."""
        done, state, seen = [], replace(self.state), []
        for act in said.acts:
            before = state
            state, what = step(state, act, self.world)
            if state is before and state.over:
                break
            done.append(act)
            seen.append(what)
            if what.refused or state.over:
                break
        return done, state, seen
