"""Finding echoes on a trace: where it steps, which way, how high, and how sure.

An echo of a step is a step again, smoothed by the source and by the cable. The trace (or its
difference from that of the healthy cable) is differentiated and smoothed in one, by correlation
with the derivative of a Gaussian as wide as the incident step: the matched filter for such a step
in white noise. Steps are its peaks; slow slopes, such as the rise of a lossy line, stay below them
as background. The time of a peak is uncertain by the noise over the sharpness of the peak, and by
what the cable has smeared: the peak is then wider than the incident step alone would make it.

Source of the matched filter and of its timing error: P. M. Woodward, Probability and Information
Theory, with Applications to Radar (Pergamon, 1953), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.line.pulse import Incident, Trace

__all__ = ["SEEN_DEVIATIONS", "FoundEcho", "entering", "find_echoes"]

# An echo is told from noise where it stands this many standard deviations above it: with some 200
# rise times in a trace, noise alone then shows one in about a thousand traces (the rate of maxima
# of Gaussian noise, S. O. Rice, Bell System Technical Journal 24 (1945) 46-156, from memory).
SEEN_DEVIATIONS = 5.0
# Least echo that counts where there is no noise at all, as a share of the step that enters.
_LEAST_SIZE = 1e-3
# Over how many widths of an edge the background is taken.
_SURROUNDINGS = 40.0
# An edge has fallen to half within so many widths on either side.
_FALLS_WITHIN = 4.0
# What is smeared over more than so many widths of an edge is a bend, no echo.
_MOST_SMEARED = 3.0


@dataclass(frozen=True, slots=True)
class FoundEcho:
    """A step found on a trace.

    Parameters
    ----------
    delay_ns
        After the step that entered the cable [ns].
    uncertainty_ns
        Standard uncertainty of that [ns].
    size
        Height as a share of the step that entered; negative where it goes down.
    """

    delay_ns: float
    uncertainty_ns: float
    size: float

    @property
    def sign(self) -> str:
        """``"+"`` or ``"-"``."""
        return "+" if self.size > 0 else "-"


def find_echoes(
    trace: Trace,
    incident: Incident,
    *,
    healthy: Trace | None = None,
    noise_volt: float = 0.0,
    healthy_noise_volt: float = 0.0,
    most: int = 12,
) -> tuple[FoundEcho, ...]:
    """Find the echoes on a trace.

    Parameters
    ----------
    trace
        Of the cable in question; one trace, no batch.
    incident
        What the source sent; its rise time sets how sharp an echo can be.
    healthy
        Of the same cable while it was whole, or as computed: only what differs counts then. Without
        it everything counts that is sharper than a slope, the far end among them.
    noise_volt
        Standard deviation of each sample [V].
    healthy_noise_volt
        The same of the healthy trace; 0 where that was computed.
    most
        How many to return at most, the highest.

    Returns
    -------
    tuple of FoundEcho
        In order of time.

    Raises
    ------
    InputError
        If the trace is a batch, shows no step that enters, or is sampled too coarsely.
    """
    require("noise_volt", noise_volt, at_least=0.0)
    step_s, volt = _checked(trace, incident)
    entered_s, entered_volt = entering(trace, incident)
    if healthy is not None:
        shift_s = entered_s - entering(healthy, incident)[0]
        inside = np.clip(trace.time_s - shift_s, healthy.time_s[0], healthy.time_s[-1])
        volt = volt - healthy.at(inside)
        noise_volt = float(np.hypot(noise_volt, healthy_noise_volt))
    edges = _Edges(trace.time_s, volt, step_s, incident.deviation_s)
    least = max(
        _LEAST_SIZE * entered_volt * edges.per_volt,
        SEEN_DEVIATIONS * noise_volt * edges.noise_gain,
    )
    after_s = entered_s + (0.0 if healthy is not None else 1.2 * incident.rise_s)
    found = []
    for peak in edges.peaks(least):
        if edges.time_s(peak) <= after_s:
            continue
        height, width_s, smeared_s = edges.shape_at(peak)
        if smeared_s > _MOST_SMEARED * edges.width_s:
            continue
        by_noise_s = noise_volt * edges.slope_noise_gain * width_s**2 / abs(height)
        # Where in the smear the step belongs is not known: even over its width.
        uncertainty_s = float(np.hypot(by_noise_s, smeared_s / 12**0.5))
        size = height / edges.per_volt / entered_volt
        delay_s = edges.time_s(peak) - entered_s
        found.append(FoundEcho(1e9 * delay_s, 1e9 * uncertainty_s, size))
    found = _without_trailing(found, incident)
    highest = sorted(found, key=lambda echo: -abs(echo.size))[:most]
    return tuple(sorted(highest, key=lambda echo: echo.delay_ns))


def _checked(trace: Trace, incident: Incident) -> tuple[float, FloatArray]:
    steps = np.diff(trace.time_s)
    if trace.volt.ndim != 1 or len(trace.time_s) < 8:
        raise InputError("trace", trace.volt.shape, "one trace of at least 8 samples")
    step_s = float(np.mean(steps))
    if step_s <= 0 or np.ptp(steps) > 1e-3 * step_s:
        raise InputError("time of the trace", step_s, "evenly spaced and rising")
    if step_s > incident.rise_s:
        raise InputError(
            what="step of the trace [ns]",
            got=1e9 * step_s,
            allowed=f"at most the rise time, {1e9 * incident.rise_s:g} ns",
            try_this="sample faster, or state the rise time that the meter has",
        )
    return step_s, trace.volt


def entering(trace: Trace, incident: Incident) -> tuple[float, float]:
    """When the step that enters the cable is half up [s], and its height [V].

    Raises
    ------
    InputError
        If the trace is a batch, shows no such step, or is sampled too coarsely.
    """
    step_s, volt = _checked(trace, incident)
    edges = _Edges(trace.time_s, volt, step_s, incident.deviation_s)
    least = 0.3 * float(np.max(np.abs(edges.filtered)))
    peaks = edges.peaks(least)
    # A trace that begins while it steps does not show the whole step; one that begins on a pulse
    # shows its falling side first.
    begun = abs(edges.filtered[0]) > least
    if begun or not peaks or edges.filtered[peaks[0]] <= 0:
        raise InputError(
            "the trace shows no step that enters the cable",
            try_this="begin the trace before the step, with what the meter itself sends",
        )
    height, _, _ = edges.shape_at(peaks[0])
    return edges.time_s(peaks[0]), height / edges.per_volt


def _background(slopes: FloatArray, samples: int) -> FloatArray:
    """Running median."""
    from scipy.ndimage import median_filter

    return np.asarray(median_filter(slopes, size=2 * (samples // 2) + 1, mode="reflect"))


class _Edges:
    """A trace correlated with the derivative of a Gaussian: peaks where it steps."""

    def __init__(
        self, time_s: FloatArray, volt: FloatArray, step_s: float, deviation_s: float
    ) -> None:
        self.start_s, self.step_s = float(time_s[0]), step_s
        self.deviation_s = deviation_s
        # Never narrower than the sampling can carry.
        self.kernel_s = max(deviation_s, 0.8 * step_s)
        half = int(np.ceil(5 * self.kernel_s / step_s))
        lag = np.arange(-half, half + 1) * step_s
        bell = np.exp(-((lag / self.kernel_s) ** 2) / 2) / (self.kernel_s * (2 * np.pi) ** 0.5)
        kernel = lag / self.kernel_s**2 * bell * step_s
        slope = (1 - (lag / self.kernel_s) ** 2) * bell / self.kernel_s**2 * step_s
        padded = np.pad(volt, half, mode="edge")
        slopes = np.correlate(padded, kernel, mode="valid")
        # What changes little over many rise times is no echo: the slope of a lossy line.
        self.filtered = slopes - _background(slopes, round(_SURROUNDINGS * self.width_s / step_s))
        self.noise_gain = float(np.sqrt(np.sum(kernel**2)))
        self.slope_noise_gain = float(np.sqrt(np.sum(slope**2)))

    @property
    def width_s(self) -> float:
        """Width of the peak that an unsmeared step makes, as a standard deviation [s]."""
        return float(np.hypot(self.kernel_s, self.deviation_s))

    @property
    def per_volt(self) -> float:
        """Peak that an unsmeared step of one volt makes [1/s]."""
        return float(1.0 / (self.width_s * (2 * np.pi) ** 0.5))

    def peaks(self, least: float) -> list[int]:
        """Samples where either sign stands this far above its surroundings."""
        found = []
        near = max(1, round(self.width_s / self.step_s))
        reach = round(_FALLS_WITHIN * self.width_s / self.step_s)
        for sign in (1.0, -1.0):
            high = sign * self.filtered
            tops = (high[1:-1] >= high[:-2]) & (high[1:-1] > high[2:]) & (high[1:-1] > least)
            for k in (np.flatnonzero(tops) + 1).tolist():
                # Of several tops closer than an edge is wide only the highest is one, and one that
                # does not fall off on either side is the beginning of a slope.
                highest = high[k] >= high[max(0, k - near) : k + near + 1].max()
                sides = high[max(0, k - reach) : k + 1], high[k : k + reach + 1]
                if highest and all(side.min() < high[k] / 2 for side in sides):
                    found.append(k)
        return sorted(found)

    def _parabola(self, peak: int) -> tuple[float, float, float]:
        """Offset of the top in samples, its height, its curvature per sample squared."""
        before, here, after = self.filtered[peak - 1 : peak + 2]
        bend = before - 2 * here + after
        if bend == 0:
            return 0.0, float(here), 0.0
        offset = 0.5 * (before - after) / bend
        return float(offset), float(here - 0.25 * (before - after) * offset), float(bend)

    def time_s(self, peak: int) -> float:
        """Time of the top of a peak [s]."""
        return self.start_s + (peak + self._parabola(peak)[0]) * self.step_s

    def shape_at(self, peak: int) -> tuple[float, float, float]:
        """Height, width [s], and by how much the step is smeared beyond the source's [s]."""
        _, height, bend = self._parabola(peak)
        width_s = float(np.sqrt(abs(height / bend))) * self.step_s if bend else np.inf
        excess = width_s**2 - self.width_s**2
        return height, width_s, float(np.sqrt(max(excess, 0.0)))


def _without_trailing(found: list[FoundEcho], incident: Incident) -> list[FoundEcho]:
    """Drop the back of each pulse: the same step the other way, one width later."""
    if not np.isfinite(incident.width_s):
        return found
    kept: list[FoundEcho] = []
    for echo in found:
        near_ns = 1.5e9 * incident.rise_s
        fronts = [
            front
            for front in kept
            if abs(echo.delay_ns - front.delay_ns - 1e9 * incident.width_s) < near_ns
            and -1.3 < echo.size / front.size < 0
        ]
        trailing_of_entering = abs(echo.delay_ns - 1e9 * incident.width_s) < near_ns
        if not fronts and not (trailing_of_entering and echo.size < 0):
            kept.append(echo)
    return kept
