"""Warm-up and cool-down of an iron as first-order curves, fitted to readings; when it will be ready, and how surely.

Pure formulas in degrees C and seconds. A thermostat flattens the curve near its set point: readings there say little
about the way up. Where readings come from, and who is told what, is decided elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

#: Common practice: up to an hour to welding heat, three quarters as the usual; about half an hour to cool.
USUAL_WARM_UP_S, LONGEST_WARM_UP_S, USUAL_COOL_S = 2700.0, 3600.0, 1800.0
#: Spread of a hand pyrometer on a warming face [C] (common practice: some 10 F).
READING_SPREAD_C = 5.0
#: Where faces end up with the dial at the top [C]: they can pass 500 F (common practice).
END_C, END_SPREAD_C = 275.0, 25.0


@dataclass(frozen=True, slots=True)
class Reading:
    """A face temperature so long after plug-in or unplugging."""

    after_s: float
    temp_c: float


@dataclass(frozen=True, slots=True)
class Curve:
    """A body on its way from ``start_c`` to ``end_c``; 63 % of the way is done after ``tau_s``."""

    start_c: float
    end_c: float
    tau_s: float

    def temp_c(self, after_s: float) -> float:
        """Temperature [C] after a time [s]. Source: Newton's law, T = Te + (T0 - Te) exp(-t / tau).

        >>> round(Curve(70, 20, 8).temp_c(8), 2)
        38.39
        """
        return self.end_c + (self.start_c - self.end_c) * math.exp(-after_s / self.tau_s)

    def time_s(self, temp_c: float) -> float | None:
        """When it passes a temperature [C], in seconds from the start; None where it never does.

        >>> round(Curve(70, 20, 8).time_s(38.39), 1)
        8.0
        """
        way, left = self.start_c - self.end_c, temp_c - self.end_c
        if way == 0 or left / way <= 0 or left / way > 1:
            return None
        return self.tau_s * math.log(way / left)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Where a fit may look: time constants [s] and end temperatures [C]."""

    tau_s: tuple[float, float] = (300.0, 7200.0)
    end_c: tuple[float, float] = (150.0, 330.0)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of the warm-up before today's readings: median [s] and spread of its logarithm."""

    median_s: float = USUAL_WARM_UP_S
    log_spread: float = math.log(LONGEST_WARM_UP_S / USUAL_WARM_UP_S) / 1.2816


@dataclass(frozen=True, slots=True)
class Ready:
    """When it is ready, in seconds after plug-in: one chance in ten earlier, the middle, one in ten later."""

    early_s: float
    likely_s: float
    late_s: float


def curve_through(start_c: float, end_c: float, reading: Reading) -> Curve:
    """The curve from a start to a known end through one reading.

    Limits: the reading lies between start and end, later than 0. Source: Newton's law solved for the time constant,
    tau = -t / ln((T - Te) / (T0 - Te)); OpenStax Calculus, exponential growth and decay.

    >>> round(1 / curve_through(93.333, 21.111, Reading(2, 82.222)).tau_s, 4)
    0.0835
    """
    share = (reading.temp_c - end_c) / (start_c - end_c) if start_c != end_c else 0.0
    if not 0 < share < 1 or reading.after_s <= 0:
        raise ValueError("the reading must lie between start and end, and after the start")
    return Curve(start_c, end_c, -reading.after_s / math.log(share))


def end_of_three(first_c: float, second_c: float, third_c: float) -> float:
    """Where a body is bound for, from three temperatures at equal steps of time; needs no time constant.

    Limits: each step smaller than the one before and the same way. Source: three-point method from Newton's law.

    >>> round(end_of_three(70, 60, 53), 2)
    36.67
    """
    one, two = second_c - first_c, third_c - second_c
    if one * two <= 0 or abs(two) >= abs(one):
        raise ValueError("the steps must shrink and go one way")
    return (first_c * third_c - second_c**2) / (first_c + third_c - 2 * second_c)


def fit(readings: Sequence[Reading], start_c: float, bounds: Bounds | None = None) -> Curve:
    """The curve from ``start_c`` nearest to the readings in least squares, within bounds.

    For each time constant the best end is known in closed form, so only one number is searched. Limits: one reading or
    more, none before 0 s. Source: separable least squares (Golub and Pereyra); golden section search.

    >>> c = fit([Reading(600, 126.9), Reading(1200, 184.2), Reading(1800, 216.6)], 25)
    >>> round(c.tau_s, -1), round(c.end_c)
    (1050.0, 258)
    """
    bounds = bounds or Bounds()
    if not readings or any(r.after_s < 0 for r in readings):
        raise ValueError("at least one reading, none before the start")
    low, high = (math.log(t) for t in bounds.tau_s)
    steps = [low + (high - low) * i / 60 for i in range(61)]
    best = min(range(61), key=lambda i: _misfit(math.exp(steps[i]), readings, start_c, bounds))
    log_tau = _golden(
        lambda x: _misfit(math.exp(x), readings, start_c, bounds), steps[max(0, best - 1)], steps[min(60, best + 1)]
    )
    tau = math.exp(log_tau)
    return Curve(start_c, _best_end(tau, readings, start_c, bounds), tau)


def _best_end(tau_s: float, readings: Sequence[Reading], start_c: float, bounds: Bounds) -> float:
    risen = [1 - math.exp(-r.after_s / tau_s) for r in readings]
    weight = sum(g * g for g in risen)
    way = sum(g * (r.temp_c - start_c) for g, r in zip(risen, readings, strict=True)) / weight if weight else 0.0
    return min(max(start_c + way, bounds.end_c[0]), bounds.end_c[1])


def _misfit(tau_s: float, readings: Sequence[Reading], start_c: float, bounds: Bounds) -> float:
    curve = Curve(start_c, _best_end(tau_s, readings, start_c, bounds), tau_s)
    return sum((curve.temp_c(r.after_s) - r.temp_c) ** 2 for r in readings)


def _golden(f: Callable[[float], float], a: float, b: float) -> float:
    """Least point of a function with one valley between a and b."""
    ratio = (math.sqrt(5) - 1) / 2
    while b - a > 1e-10:
        c, d = b - ratio * (b - a), a + ratio * (b - a)
        a, b = (a, d) if f(c) < f(d) else (c, b)
    return (a + b) / 2


def learned(warm_ups_s: Sequence[float], prior: Prior | None = None, weight: float = 2.0) -> Prior:
    """What past mornings of an iron add to common practice, which counts as ``weight`` mornings.

    Limits: each above 0, weight > 0. Source: mean and spread of logarithms with a conjugate prior.

    >>> round(learned([2400, 2460, 2340, 2400]).median_s)
    2496
    """
    prior = prior or Prior()
    if weight <= 0 or any(w <= 0 for w in warm_ups_s):
        raise ValueError("times and weight must be above 0")
    logs = [math.log(w) for w in warm_ups_s]
    n = weight + len(logs)
    middle = (weight * math.log(prior.median_s) + sum(logs)) / n
    square = weight * (prior.log_spread**2 + (math.log(prior.median_s) - middle) ** 2)
    square += sum((x - middle) ** 2 for x in logs)
    return Prior(math.exp(middle), math.sqrt(square / n))


def ready(readings: Sequence[Reading], start_c: float, target_c: float, prior: Prior | None = None) -> Ready:
    """When the face reaches ``target_c``, from what is known and today's readings together.

    Every pair of warm-up time and end temperature is weighed by the prior and by how well its curve passes the
    readings; the answer is that weight's 10, 50 and 90 %. Limits: start_c < target_c < 230. Source: Bayes' rule on a
    grid.

    >>> r = ready([], 20, 182)
    >>> round(r.likely_s / 60), round(r.late_s / 60)
    (45, 60)
    """
    if not start_c < target_c < END_C - 1.8 * END_SPREAD_C:
        raise ValueError(f"the target must lie between {start_c} and {END_C - 1.8 * END_SPREAD_C}, not {target_c}")
    weighed = sorted(_weighed(readings, start_c, target_c, prior or Prior()))
    total = sum(w for _, w in weighed)
    return Ready(*(_quantile(weighed, total * share) for share in (0.1, 0.5, 0.9)))


def _weighed(
    readings: Sequence[Reading], start_c: float, target_c: float, prior: Prior
) -> Iterator[tuple[float, float]]:
    """Warm-up times with their logarithmic weights turned to weights, the greatest being 1."""
    found: list[tuple[float, float]] = []
    for i in range(-120, 121):
        sigmas = i / 30
        time = prior.median_s * math.exp(sigmas * prior.log_spread)
        for j in range(-3, 4):
            end = END_C + 0.6 * j * END_SPREAD_C
            curve = Curve(start_c, end, time / math.log((end - start_c) / (end - target_c)))
            miss = sum(((curve.temp_c(r.after_s) - r.temp_c) / READING_SPREAD_C) ** 2 for r in readings)
            found.append((time, -0.5 * (sigmas**2 + (0.6 * j) ** 2 + miss)))
    most = max(w for _, w in found)
    return ((time, math.exp(w - most)) for time, w in found)


def _quantile(weighed: Sequence[tuple[float, float]], share: float) -> float:
    """The time at which the running weight passes ``share``."""
    seen = 0.0
    for time, weight in weighed:
        seen += weight
        if seen >= share:
            return time
    return weighed[-1][0]


def safe_to_pack_s(start_c: float, air_c: float, handle_c: float, readings: Sequence[Reading] = ()) -> float | None:
    """How long after unplugging the face is down to ``handle_c`` [s], do not pack before; None where the air is warmer.

    Without readings the curve is the one that takes half an hour from 188 C to 50 C in 20 C air. Limits: start_c >
    handle_c. Source: Newton's law; half an hour to cool is common practice.

    >>> round(safe_to_pack_s(188, 20, 50) / 60)
    30
    """
    if not start_c > handle_c:
        raise ValueError(f"start_c must lie above handle_c, not {start_c} and {handle_c}")
    if air_c >= handle_c:
        return None
    tau = USUAL_COOL_S / math.log((188 - 20) / (50 - 20))
    if readings:
        tau = fit(readings, start_c, Bounds((120.0, 14400.0), (air_c, air_c))).tau_s
    return Curve(start_c, air_c, tau).time_s(handle_c)
