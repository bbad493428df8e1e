"""A withstand tester: a high direct voltage raised until the insulation gives way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.instruments.breakdown import tripping
from cablesim.instruments.meter import Meter, Setting
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.layout import MeshMaker
from cablesim.line.terminals import Hookup

__all__ = ["WithstandTester"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WithstandTester(Meter):
    """A high-voltage withstand tester of the trade.

    Its voltage is raised from 100 V to 2500 V at most, and it trips when its current reaches a
    limit. What is read is the lowest voltage at which it trips. All defaults are common practice,
    no source.

    Parameters
    ----------
    least_volt
        Lowest voltage that can be set [V]; what trips at less trips there.
    limit_milliamp
        Current at which it trips [mA].
    volt_per_second
        How fast it is raised [V/s].
    """

    kind: ClassVar[str] = "withstand_tester"
    unit: ClassVar[str] = "V"
    unit_size: ClassVar[float] = 1.0
    reads_leads: ClassVar[bool] = False
    used_by_locate: ClassVar[bool] = False

    accuracy_percent: float = 3.0
    accuracy_counts: float = 0.5
    counts: float = 250.0
    resolution: float = 10.0
    top_range: float = 2500.0
    least_volt: float = 100.0
    limit_milliamp: float = 5.0
    volt_per_second: float = 100.0

    def __post_init__(self) -> None:
        Meter.__post_init__(self)
        require("least_volt", self.least_volt, at_least=0.0, at_most=self.top_range)
        require("limit_milliamp", self.limit_milliamp, above=0.0)
        require("volt_per_second", self.volt_per_second, above=0.0)

    def limit_ampere(self, setting: Setting) -> float:
        """Current at which it trips, as set for one reading or as the tester has it [A]."""
        return (setting.limit_milliamp or self.limit_milliamp) * 1e-3

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Not to be told from the network between the leads: see `exact_in`."""
        raise InputError(
            "a withstand tester needs the faults, not only the network between its leads",
            try_this="use predict",
        )

    def exact_in(
        self,
        network: TerminalNetwork,
        faults: tuple[Fault, ...],
        hookup: Hookup,
        setting: Setting,
        mesh_of: MeshMaker,
    ) -> FloatArray:
        """Lowest voltage at which it trips [V]; infinite where that is beyond its range."""
        limit = self.limit_ampere(setting)
        volt = tripping(network.cable, faults, hookup, limit, mesh_of=mesh_of).volt
        beyond = volt > self.top_range * (1 + self.accuracy_percent / 100)
        return np.where(beyond, np.inf, volt)

    def shown(self, indicated: FloatArray | float, setting: Setting) -> FloatArray:
        """Round to a step of its setting; infinite where it does not trip [V]."""
        return Meter.shown(self, np.maximum(indicated, self.least_volt), setting)

    def over_range_from(self, setting: Setting) -> float:
        """No trip: more than half a step above its highest voltage [V]."""
        return self.top_range + self.resolution / 2

    @property
    def lowest_shown(self) -> float:
        """The lowest voltage that can be set [V]."""
        return self.least_volt
