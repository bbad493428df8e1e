"""How a cable really is: off its label by what the label, and what nobody states, leave open."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.locate.parameters import FACTORS

__all__ = ["Deviation"]

_DIGITS = 9  # so that the last bits of a logarithm do not matter


@dataclass(frozen=True, slots=True)
class Deviation:
    """Factors by which a true cable differs from the rated one.

    Parameters
    ----------
    core, braid, insulation
        On the resistance of what heats, of the braid, and of the healthy insulation.
    capacitance_core_braid, capacitance_core_core
        On the capacitances.
    """

    core: float
    braid: float
    insulation: float
    capacitance_core_braid: float
    capacitance_core_core: float

    @classmethod
    def drawn(cls, cable: Cable, rng: np.random.Generator) -> Deviation:
        """Draw one within the limits that the prior of `cablesim.locate` states."""

        def within(limits: tuple[float, float]) -> float:
            return 1 + rng.uniform(*limits) / 100

        def about(name: str) -> float:
            return float(FACTORS[name] ** rng.uniform(-1, 1))

        limits = cable.capacitance_tolerance_percent
        drawn = (
            within(cable.tolerance_percent),
            about("braid resistance"),
            about("healthy insulation"),
            within(limits),
            within(limits),
        )
        return cls(*(round(factor, _DIGITS) for factor in drawn))

    def of(self, cable: Cable) -> Cable:
        """The cable as it really is."""
        return replace(
            self.known(cable),
            braid_ohm_per_m=cable.braid_ohm_per_m * self.braid,
            insulation_gigaohm_m=cable.insulation_gigaohm_m * self.insulation,
            tolerance_percent=cable.tolerance_percent,
            capacitance_tolerance_percent=cable.capacitance_tolerance_percent,
        )

    def known(self, cable: Cable) -> Cable:
        """The cable as one would rate it who knew its cores and capacitances exactly."""
        return replace(
            cable.with_core_factor(self.core),
            tolerance_percent=(0.0, 0.0),
            capacitance_core_braid_pf_per_m=cable.capacitance_core_braid_pf_per_m
            * self.capacitance_core_braid,
            capacitance_core_core_pf_per_m=cable.capacitance_core_core_pf_per_m
            * self.capacitance_core_core,
            capacitance_tolerance_percent=(0.0, 0.0),
        )

    def to_dict(self) -> dict[str, float]:
        """The factors by name, ready for JSON."""
        return asdict(self)
