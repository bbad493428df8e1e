"""The cable as laid and healthy: a frozen value, checked once when it is made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cablesim.cable.construction import Construction, construction
from cablesim.cable.geometry import Geometry, derived
from cablesim.cable.insulations import (
    CAPACITANCE_FREQUENCY_HZ,
    PULSE_FREQUENCY_HZ,
    insulation,
)
from cablesim.cable.materials import REFERENCE_TEMPERATURE_C, alloy
from cablesim.cable.medium import Medium
from cablesim.cable.numbers import Real, require, require_tolerance
from cablesim.cable.shown import Shown
from cablesim.errors import InputError

__all__ = [
    "CAPACITANCE_FREQUENCY_HZ",
    "PULSE_FREQUENCY_HZ",
    "Cable",
]

# A conductor never has no resistance: the exact line solution divides by it.
_LEAST_OHM_PER_M = 1e-9
# Far below any insulation (1 ohm between two conductors over one metre) and any heating element,
# and far above where a conductance is no longer a number.
_LEAST_INSULATION_GIGAOHM_M = 1e-9
_LEAST_HEATING_OHM_M = 1e-6
# What a construction knows where a label is silent.
_FROM_CONSTRUCTION = (
    "far_end",
    "cold_lead_m",
    "cold_lead_ohm_per_m",
    "braid_ohm_per_m",
    "capacitance_core_braid_pf_per_m",
    "capacitance_core_core_pf_per_m",
    "insulation_gigaohm_m",
    "velocity_factor",
    "loss_tangent",
    "core_alloy",
)
# What lies between the conductors, and may be another in the cold lead.
_OF_MEDIUM = (
    "capacitance_core_braid_pf_per_m",
    "capacitance_core_core_pf_per_m",
    "insulation_gigaohm_m",
    "velocity_factor",
    "loss_tangent",
)


@dataclass(frozen=True, slots=True, eq=False)
class Cable(Shown):
    """A healthy floor-heating cable.

    Every number may be an array with a leading batch axis; the construction may not.

    Parameters
    ----------
    construction
        How it is built.
    heated_length_m
        Length of the heated part [m], from the cold joint (position 0) to its far end.
    core_ohm_per_m
        Series resistance of each core's heated part at 20 C [ohm/m].
    cold_lead_m
        Length of the cold lead [m]; a cable that returns has one at each end.
    cold_lead_ohm_per_m
        Resistance of each core in the cold lead at 20 C [ohm/m].
    braid_ohm_per_m
        Resistance of the braid [ohm/m], heated part and cold lead alike.
    capacitance_core_braid_pf_per_m, capacitance_core_core_pf_per_m
        Partial capacitances [pF/m].
    capacitance_tolerance_percent
        By how much the true capacitances may lie under and over these [%].
    insulation_gigaohm_m
        Insulation resistance times length between every two conductors [Gohm m].
    far_end
        ``"joined"``: the cores meet at the far end; ``"open"``: they do not.
    velocity_factor
        Speed of pulses relative to that of light, one for all pairs of conductors.
    velocity_tolerance_percent
        By how much the true velocity may lie under and over that [%].
    loss_tangent
        Loss tangent of the insulation at 1 kHz.
    absorption_exponent, absorption_factor
        Power law of the absorption current, ``factor C V t^-exponent`` [s^(exponent - 1) for the
        factor]; what is None follows from the loss tangent, see `cablesim.cable.dielectric`.
    core_alloy
        Alloy of the cores by name; gives the temperature coefficient.
    heating_ohm_m
        Resistance of the heating element between the cores times length [ohm m]; infinite where the
        cores themselves heat.
    tolerance_percent
        By how much the true resistance of what heats may lie under and over the rated one [%].
    temperature_c
        Temperature of the heated part while it is read [C].
    insulation
        The insulating material by name, where known. The values above are what counts: this says
        where they may have come from.
    geometry
        How the cable is made, as far as known; likewise.
    cold_lead_capacitance_core_braid_pf_per_m, cold_lead_capacitance_core_core_pf_per_m
        Partial capacitances of the cold lead [pF/m]; None where they are those of the heated part,
        as are the next three.
    cold_lead_insulation_gigaohm_m
        Insulation resistance times length in the cold lead [Gohm m].
    cold_lead_velocity_factor, cold_lead_loss_tangent
        Speed of pulses and loss tangent at 1 kHz in the cold lead.
    cold_lead_insulation
        The insulating material of the cold lead by name, where it is another.
    """

    construction: Construction
    heated_length_m: Real
    core_ohm_per_m: tuple[Real, ...]
    cold_lead_m: Real
    cold_lead_ohm_per_m: Real
    braid_ohm_per_m: Real
    capacitance_core_braid_pf_per_m: Real
    capacitance_core_core_pf_per_m: Real
    insulation_gigaohm_m: Real
    far_end: str
    velocity_factor: Real
    loss_tangent: Real
    core_alloy: str
    heating_ohm_m: Real = np.inf
    # from memory of IEC 60800: -5 % / +10 %
    tolerance_percent: tuple[float, float] = (-5.0, 10.0)
    # Rarely known and rarely stated: half to double; common practice, no source.
    capacitance_tolerance_percent: tuple[float, float] = (-50.0, 100.0)
    # How far a stated velocity is off; common practice, no source.
    velocity_tolerance_percent: tuple[float, float] = (-5.0, 5.0)
    temperature_c: float = REFERENCE_TEMPERATURE_C
    absorption_exponent: Real | None = None
    absorption_factor: Real | None = None
    insulation: str | None = None
    geometry: Geometry | None = None
    cold_lead_capacitance_core_braid_pf_per_m: Real | None = None
    cold_lead_capacitance_core_core_pf_per_m: Real | None = None
    cold_lead_insulation_gigaohm_m: Real | None = None
    cold_lead_velocity_factor: Real | None = None
    cold_lead_loss_tangent: Real | None = None
    cold_lead_insulation: str | None = None

    def __post_init__(self) -> None:
        require("heated_length_m", self.heated_length_m, above=0.0, at_most=1e6)
        if not isinstance(self.construction, Construction):
            raise InputError(
                "construction", self.construction, "a Construction", "use Cable.rated with its name"
            )
        cores = self.construction.cores
        if not hasattr(self.core_ohm_per_m, "__len__") or len(self.core_ohm_per_m) != len(cores):
            raise InputError(
                what="core_ohm_per_m",
                got=self.core_ohm_per_m,
                allowed=f"{len(cores)} value(s), one for each of {', '.join(cores)}",
            )
        for value in self.core_ohm_per_m:
            require("core_ohm_per_m", value, at_least=_LEAST_OHM_PER_M)
        require("cold_lead_m", self.cold_lead_m, at_least=0.0, at_most=1e6)
        require("cold_lead_ohm_per_m", self.cold_lead_ohm_per_m, at_least=_LEAST_OHM_PER_M)
        require("braid_ohm_per_m", self.braid_ohm_per_m, at_least=_LEAST_OHM_PER_M)
        for part in ("", "cold_lead_"):
            self._check_medium(part)
        if self.far_end not in ("joined", "open"):
            raise InputError(what="far_end", got=self.far_end, allowed='"joined" or "open"')
        if self.far_end == "joined" and len(cores) < 2:
            raise InputError(
                what="far_end",
                got=self.far_end,
                allowed=f'"open" for a {self.construction.name} cable',
                try_this="its one core has nothing to be joined to",
            )
        require("heating_ohm_m", self.heating_ohm_m, at_least=_LEAST_HEATING_OHM_M, infinite=True)
        if self.absorption_exponent is not None:
            require("absorption_exponent", self.absorption_exponent, at_least=0.3, at_most=1.0)
        if self.absorption_factor is not None:
            require("absorption_factor", self.absorption_factor, at_least=0.0)
        for name in (
            "tolerance_percent",
            "capacitance_tolerance_percent",
            "velocity_tolerance_percent",
        ):
            require_tolerance(name, getattr(self, name))
        require("temperature_c", self.temperature_c, at_least=-60.0, at_most=250.0)
        alloy(self.core_alloy)
        if self.insulation is not None:
            insulation(self.insulation)
        if self.cold_lead_insulation is not None:
            insulation(self.cold_lead_insulation, "cold_lead_insulation")

    def _check_medium(self, part: str) -> None:
        """Refuse what the insulation of the heated part, or of the cold lead, cannot have."""
        allowed: dict[str, dict[str, Any]] = {
            "capacitance_core_braid_pf_per_m": {"at_least": 0.0},
            "capacitance_core_core_pf_per_m": {"at_least": 0.0},
            "insulation_gigaohm_m": {"at_least": _LEAST_INSULATION_GIGAOHM_M, "infinite": True},
            "velocity_factor": {"at_least": 1e-5, "at_most": 1.0},
            "loss_tangent": {"at_least": 0.0, "at_most": 1.0},
        }
        for name, limits in allowed.items():
            value = getattr(self, part + name)
            if value is not None or not part:
                require(part + name, value, **limits)

    @classmethod
    def rated(
        cls,
        construction_name: str,
        heated_length_m: Real,
        loop_resistance_ohm: Real | None = None,
        *,
        core_ohm_per_m: tuple[Real, ...] | None = None,
        **others: Any,
    ) -> Cable:
        """Make a cable from what its label says.

        Parameters
        ----------
        construction_name
            ``"twin"``, ``"single"`` or ``"parallel"``.
        heated_length_m
            Length of the heated part [m].
        loop_resistance_ohm
            Rated resistance of the heated part at 20 C [ohm]: core1 to core2 over the far joint
            (twin), end to end (single), where the cores share it equally; or core1 to core2 through
            the heating element (parallel), the resistance of the cores left aside.
        core_ohm_per_m
            Instead of the loop resistance: one value for each core [ohm/m], where the cores differ.
            On a parallel cable beside it; left out, the cores are those of the cold lead.
        **others
            Any other field of `Cable`. What is left out follows from `geometry`, `insulation` and
            `core_alloy` where they are given and say enough, and else comes from the construction.

        Examples
        --------
        >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
        >>> round(cable.core_ohm_per_m[0], 3)
        1.47
        >>> from cablesim.cable.conductors import Conductor
        >>> make = Geometry(core=Conductor(strands=7, strand_mm=0.2), insulation_mm=0.8)
        >>> cable = Cable.rated("twin", 30.0, geometry=make, insulation="XLPE", core_alloy="CuNi44")
        >>> round(cable.loop_resistance_ohm, 1), round(cable.capacitance_core_braid_pf_per_m, 1)
        (136.4, 70.3)
        """
        built = construction(construction_name)
        require("heated_length_m", heated_length_m, above=0.0, at_most=1e6)
        if loop_resistance_ohm is not None:
            require("loop_resistance_ohm", loop_resistance_ohm, above=0.0)
        made = derived(
            built,
            others.get("core_alloy", built.core_alloy),
            others.get("geometry"),
            others.get("insulation"),
            others.get("cold_lead_insulation"),
        )
        from_make: Any = made.pop("core_ohm_per_m", None)
        if from_make is not None and loop_resistance_ohm is None and core_ohm_per_m is None:
            if "core_alloy" not in others and not built.heats_between:
                raise InputError(
                    "core_alloy is missing",
                    try_this="say of what the cores are made, such as CuNi44, or give "
                    "loop_resistance_ohm",
                )
            core_ohm_per_m = from_make
        if built.heats_between:
            if "heating_ohm_m" in made and loop_resistance_ohm is None:
                others.setdefault("heating_ohm_m", made["heating_ohm_m"])
            if (loop_resistance_ohm is None) == ("heating_ohm_m" not in others):
                raise InputError(
                    what="loop_resistance_ohm",
                    got=loop_resistance_ohm,
                    allowed=f"either loop_resistance_ohm or heating_ohm_m on a {built.name} cable, "
                    "not both and not neither",
                )
            if loop_resistance_ohm is not None:
                others["heating_ohm_m"] = loop_resistance_ohm * heated_length_m
            bus = (made | others).get("cold_lead_ohm_per_m", built.cold_lead_ohm_per_m)
            core_ohm_per_m = core_ohm_per_m or from_make or (bus,) * len(built.cores)
        elif (loop_resistance_ohm is None) == (core_ohm_per_m is None):
            raise InputError(
                what="loop_resistance_ohm",
                got=loop_resistance_ohm,
                allowed="either loop_resistance_ohm or core_ohm_per_m, not both and not neither",
            )
        if core_ohm_per_m is None:
            assert loop_resistance_ohm is not None  # the checks above leave no other case
            each = loop_resistance_ohm / (len(built.cores) * heated_length_m)
            core_ohm_per_m = (each,) * len(built.cores)
        usual = {name: getattr(built, name) for name in _FROM_CONSTRUCTION}
        return cls(built, heated_length_m, core_ohm_per_m, **(usual | made | others))

    @property
    def from_make(self) -> dict[str, Real | tuple[Real, ...]]:
        """The fields that follow from what is known of the cable's make, as they would be."""
        return derived(
            self.construction,
            self.core_alloy,
            self.geometry,
            self.insulation,
            self.cold_lead_insulation,
        )

    @property
    def conductors(self) -> tuple[str, ...]:
        """Every conductor: the cores, then the braid."""
        return self.construction.conductors

    @property
    def loop_resistance_ohm(self) -> Real:
        """Resistance of what heats, as a label states it, at 20 C [ohm]."""
        if self.construction.heats_between:
            return self.heating_ohm_m / self.heated_length_m
        total: Real = sum(self.core_ohm_per_m) * self.heated_length_m
        return total

    @property
    def inductance_henry_per_m(self) -> tuple[Real, ...]:
        """Partial inductance of each conductor in the heated part [H/m]; see `Medium`."""
        return self.medium(heated=True).inductance_henry_per_m

    @property
    def pulse_velocity_m_per_s(self) -> Real:
        """Speed of sharp pulses in the heated part [m/s], one for all pairs of conductors."""
        return self.medium(heated=True).pulse_velocity_m_per_s

    @property
    def cold_lead_is_alike(self) -> bool:
        """Whether the cold lead has nothing of its own but its conductors."""
        return all(getattr(self, f"cold_lead_{name}") is None for name in _OF_MEDIUM)

    def medium(self, *, heated: bool) -> Medium:
        """What lies between the conductors of the heated part, or of the cold lead.

        Parameters
        ----------
        heated
            Which of them.
        """
        values: dict[str, Any] = {name: getattr(self, name) for name in _OF_MEDIUM}
        if not heated:
            own = {name: getattr(self, f"cold_lead_{name}") for name in _OF_MEDIUM}
            values |= {name: value for name, value in own.items() if value is not None}
        return Medium(
            cores=len(self.construction.cores),
            absorption_exponent=self.absorption_exponent,
            absorption_factor=self.absorption_factor,
            **values,
        )

    def travel_s(self, from_m: Real, to_m: Real) -> Real:
        """Time that a sharp pulse takes from one position to another farther on [s].

        Parameters
        ----------
        from_m, to_m
            Positions [m from the cold joint].
        """
        found: Real
        if self.cold_lead_velocity_factor is None:
            found = (to_m - from_m) / self.pulse_velocity_m_per_s
            return found
        length = self.heated_length_m
        warm_m = np.clip(to_m, 0.0, length) - np.clip(from_m, 0.0, length)
        cold = self.medium(heated=False).pulse_velocity_m_per_s
        found = warm_m / self.pulse_velocity_m_per_s + (to_m - from_m - warm_m) / cold
        return found

    @property
    def first_m(self) -> Real:
        """Position of the near terminals [m]."""
        return 0.0 - self.cold_lead_m  # not -0.0 where there is none

    @property
    def last_m(self) -> Real:
        """Position of the far end, or of the far terminals where the cable returns [m]."""
        if self.construction.returns:
            return self.heated_length_m + self.cold_lead_m
        return self.heated_length_m

    def with_core_factor(self, factor: Real) -> Cable:
        """The same cable with the resistance of what heats scaled."""
        return replace(self, **self.core_fields(factor))

    def core_fields(self, factor: Real) -> dict[str, Any]:
        """The fields that scaling the resistance of what heats changes."""
        if self.construction.heats_between:
            return {"heating_ohm_m": self.heating_ohm_m * factor}
        return {"core_ohm_per_m": tuple(r * factor for r in self.core_ohm_per_m)}
