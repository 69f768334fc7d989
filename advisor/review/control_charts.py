"""Control charts for single values: individuals, moving range, and a weighted average.

Constants and formulas: NIST/SEMATECH e-Handbook of Statistical Methods, pmc322 (individuals) and
pmc324 (weighted average). Limits that come from few values are themselves unsure. Two inputs widen
them: `doubt`, the variance of what a value is held against in units of sd² (1/n for a centre from n
values), and `df`, the degrees of freedom behind sd, which put a quantile of Student's t in place of
the normal one with the same tail.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.signal import lfilter
from scipy.special import ndtr, stdtrit

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.weld.words import TradeWord

#: Mean range of two normal values over their sd, and the largest range over the mean range. From
#: memory, computed again by the tests (``nist-handbook-control-charts``).
RANGE_PER_SD, LARGEST_RANGE = 1.128, 3.267
#: Limits of single values, in sd. The usual limits (``nist-handbook-control-charts``).
WIDTH = 3.0
#: Weight of the newest value, and limits of the average in its own sd: 500 values on average to a
#: false alarm (Lucas & Saccucci, Technometrics 32, 1990, from memory).
WEIGHT, AVERAGE_WIDTH = 0.2, 2.962
#: Values in a row on one side of the centre that are a signal. One of the usual rules for runs,
#: from memory.
RUN = 8

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def _coupon(position: int) -> str:
    return say("coupon {number}", number=position + 1)


class Rule(TradeWord):
    """What a chart calls a signal."""

    BEYOND = "beyond", msg("a coupon beyond the limits")
    AVERAGE = "average", msg("the weighted average beyond its limits")
    RUN = "run", msg("eight coupons in a row on one side of the centre")
    JUMP = "jump", msg("a jump from one coupon to the next")
    NO_BUTTON = "no_button", msg("a coupon with no button")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("rule of the chart")


#: What a signal says, by its rule and whether it is below or downwards.
_WORDS = {
    (Rule.BEYOND, True): msg("{where}: below the lower limit"),
    (Rule.BEYOND, False): msg("{where}: above the upper limit"),
    (Rule.AVERAGE, True): msg("{where}: weighted average below its lower limit"),
    (Rule.AVERAGE, False): msg("{where}: weighted average above its upper limit"),
    (Rule.RUN, True): msg("{where}: {run} or more in a row below the centre"),
    (Rule.RUN, False): msg("{where}: {run} or more in a row above the centre"),
    (Rule.JUMP, True): msg("{where}: drop larger than the range limit"),
    (Rule.JUMP, False): msg("{where}: rise larger than the range limit"),
    (Rule.NO_BUTTON, True): msg("{where}: no button"),
    (Rule.NO_BUTTON, False): msg("{where}: no button"),
}


@dataclass(frozen=True)
class Signal:
    """One signal.

    Parameters
    ----------
    rule : Rule
        Which rule found it.
    first, last : int
        Positions in the series, both included.
    side : int
        -1 below or downwards, 1 above or upwards.
    """

    rule: Rule
    first: int
    last: int
    side: int

    def words(self, name: Callable[[int], str] = _coupon) -> str:
        """Return the signal in words.

        Parameters
        ----------
        name : callable, optional
            Names the coupon at a position.
        """
        where = name(self.first)
        if self.last != self.first:
            where = say("{first} to {last}", first=where, last=name(self.last))
        return say(_WORDS[self.rule, self.side < 0], where=where, run=RUN)


@dataclass(frozen=True, eq=False)
class IndividualsLimits:
    """Limits of single values and of the range from one to the next, in the values' unit.

    Parameters
    ----------
    centre, sd : float
        Mean, and standard deviation from value to value.
    lower, upper : float or ndarray
        Limits, one for all or one a position.
    largest_range : float
        Largest range between neighbours.
    """

    centre: float
    sd: float
    lower: float | Floats
    upper: float | Floats
    largest_range: float


@dataclass(frozen=True, eq=False)
class Ewma:
    """Exponentially weighted moving averages with their limits, each of shape (n_values,)."""

    averages: Floats
    lower: Floats
    upper: Floats


def moving_range_df(n: int) -> float:
    """Return the degrees of freedom of an sd from the mean moving range of `n` values.

    Relative variance (0.8264 n - 1.082) / (n - 1)² (Cryer & Ryan, J. Qual. Technol. 22, 1990, from
    memory; checked by simulation), matched to that of a χ.
    """
    return (n - 1) ** 2 / (2 * (0.8264 * n - 1.082))


def width_for(width: float, df: float) -> float:
    """Return the quantile of Student's t with the tail that `width` has in a normal."""
    return width if np.isinf(df) else float(stdtrit(df, float(ndtr(width))))


def individuals_limits(values: ArrayLike, is_widened: bool = False) -> IndividualsLimits:
    """Return limits from a baseline (NIST pmc322); values that are NaN are left out.

    Parameters
    ----------
    values : array-like of shape (n_values,)
        Baseline, oldest first.
    is_widened : bool
        Whether the limits are widened for the doubt of centre and sd.

    Raises
    ------
    InputError
        Fewer than two values.
    """
    kept = np.asarray(values, dtype=float)
    kept = kept[~np.isnan(kept)]
    if len(kept) < 2:
        raise InputError(
            say("limits from {count} values are not possible; give 2 or more", count=len(kept))
        )
    sd = float(np.abs(np.diff(kept)).mean()) / RANGE_PER_SD
    if not is_widened:
        return limits_around(float(kept.mean()), sd)
    return limits_around(float(kept.mean()), sd, 1 / len(kept), moving_range_df(len(kept)))


def limits_around(
    centre: float, sd: float, doubt: float | Floats = 0.0, df: float = np.inf
) -> IndividualsLimits:
    """Return limits of single values around a given centre.

    Parameters
    ----------
    centre, sd : float
        Centre and standard deviation.
    doubt : float or ndarray
        Variance of what each value is held against, in sd².
    df : float
        Degrees of freedom behind `sd`.
    """
    half = width_for(WIDTH, df) * sd * np.sqrt(1 + doubt)
    # Neighbours share the centre, so only the doubt of the sd widens their range.
    of_two = LARGEST_RANGE * RANGE_PER_SD / np.sqrt(2)
    largest = float(width_for(of_two, df) * np.sqrt(2) * sd)
    return IndividualsLimits(centre, sd, centre - half, centre + half, largest)


def running_average(values: Floats, start: float | Floats, weight: float = WEIGHT) -> Floats:
    """Return weighted averages along the first axis; the newest value counts `weight`."""
    smoothed = lfilter([weight], [1.0, weight - 1.0], values - start, axis=0)
    return np.asarray(smoothed + start, dtype=float)


def ewma(
    values: ArrayLike,
    centre: float,
    sd: float,
    weight: float = WEIGHT,
    width: float = AVERAGE_WIDTH,
    doubt: float | Floats = 0.0,
    df: float = np.inf,
) -> Ewma:
    """Return weighted averages with their limits after a long run (NIST pmc324).

    Parameters
    ----------
    values : array-like of shape (n_values,)
        Values, oldest first; at a NaN the average stays as it was.
    centre, sd : float
        Where the average starts, and the standard deviation of a value.
    weight, width : float
        Weight of the newest value; limits in the sd of the average.
    doubt : float or ndarray of shape (n_values,)
        Variance of what each average is held against, in sd²; 1/n for a centre from n values.
    df : float
        Degrees of freedom behind `sd`.

    Raises
    ------
    InputError
        A weight that is not above 0 and at most 1.
    """
    if not 0 < weight <= 1:
        raise InputError(
            say(
                "weight of the newest value is {weight:g}; it must be above 0, at most 1",
                weight=weight,
            )
        )
    given = np.asarray(values, dtype=float)
    is_there = ~np.isnan(given)
    averages = np.concatenate([[centre], running_average(given[is_there], centre, weight)])
    half = width_for(width, df) * sd * np.sqrt(weight / (2 - weight) + doubt) * np.ones(len(given))
    return Ewma(averages[np.cumsum(is_there)], centre - half, centre + half)


def find_signals(
    values: ArrayLike,
    limits: IndividualsLimits,
    average: Ewma,
    no_button: Sequence[bool] | Bools | None = None,
) -> tuple[Signal, ...]:
    """Return all signals of a series, in the order of their first coupon.

    Parameters
    ----------
    values : array-like of shape (n_values,)
        Values, oldest first; NaN where there is none.
    limits : IndividualsLimits
        Limits of single values.
    average : Ewma
        Weighted averages of the same values.
    no_button : sequence of bool, optional
        Which coupons had no button.
    """
    given = np.asarray(values, dtype=float)
    none = np.zeros(len(given), dtype=bool) if no_button is None else np.asarray(no_button)
    beyond = _side(given, limits.lower, limits.upper)
    averaged = _side(average.averages, average.lower, average.upper)
    found = [
        *_stretches(Rule.BEYOND, beyond),
        *_stretches(Rule.AVERAGE, averaged),
        *_stretches(Rule.NO_BUTTON, -none.astype(int)),
        *_on_one_side(given, limits.centre),
        *_jumps(given, limits.largest_range),
    ]
    return tuple(sorted(found, key=lambda signal: (signal.first, signal.rule)))


def _side(values: Floats, lower: float | Floats, upper: float | Floats) -> NDArray[np.int_]:
    return np.asarray(np.greater(values, upper).astype(int) - np.less(values, lower).astype(int))


def _stretches(rule: Rule, sides: NDArray[np.int_], at_least: int = 1) -> Iterator[Signal]:
    """Yield each unbroken stretch of one side other than 0."""
    ends = np.flatnonzero(np.diff(sides)) + 1
    for first, after in zip([0, *ends], [*ends, len(sides)], strict=True):
        if after > first and sides[first] and after - first >= at_least:
            yield Signal(rule, int(first), int(after) - 1, int(sides[first]))


def _on_one_side(values: Floats, centre: float) -> Iterator[Signal]:
    places = np.flatnonzero(~np.isnan(values))
    sides = np.sign(values[places] - centre).astype(int)
    for found in _stretches(Rule.RUN, sides, RUN):
        yield Signal(Rule.RUN, int(places[found.first]), int(places[found.last]), found.side)


def _jumps(values: Floats, largest_range: float) -> Iterator[Signal]:
    places = np.flatnonzero(~np.isnan(values))
    steps = np.diff(values[places])
    for i in np.flatnonzero(np.abs(steps) > largest_range):
        yield Signal(Rule.JUMP, int(places[i]), int(places[i + 1]), int(np.sign(steps[i])))
