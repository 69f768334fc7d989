"""Is the advisor honest: whether what it foretold happens as often as it said.

What was foretold is kept with a coupon before it is welded: the chance that the weld is sound, and
the chance that metal is thrown out. Two questions are asked of it. *In the large*: did it happen
as often, all in all, as was said? *At each chance*: do welds with 90 % succeed more often than
those with 70 %, and by as much? All figures come from sums, so that a database can add them up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.special import ndtr

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.review.intervals import pass_rate

#: Fewer coupons say nothing about honesty (common practice, no source).
FEWEST = 20
#: A bin of the reliability table holds at least as many, where there are as many. Choice of this
#: project: of fewer the share seen jumps by more than a tenth.
FEWEST_IN_BIN = 10
#: Expected number of the rarer outcome from which a sum is near enough to normal. Common practice,
#: no source.
_FEWEST_RARE = 5.0
#: Together with the 95 % interval in the large, false alarms stay below 6 in 100. Choice of this
#: project.
_SPREAD_LEVEL = 0.01
_BIN_COLUMNS = ("low", "high", "count", "sum_foretold", "sum_happened")

FEW = msg("too few to say (under {fewest})")
AS_SAID = msg("as said, within chance")
TOO_SURE = msg("too sure")
TOO_CAUTIOUS = msg("too cautious")
UNEVEN = msg("right on the whole, but high and low chances do not come true as said")
_SAID_AND_SEEN = msg("said {said:.0f} %, seen {seen:.0f} % ({low:.0f} to {high:.0f} %) of {count}")


@dataclass(frozen=True)
class ForetoldSums:
    """What was foretold and what happened, added up over coupons.

    With p the chance that was foretold and y one where it happened, else zero:

    Parameters
    ----------
    count : int
        Coupons.
    foretold, happened : float
        Sums of p and of y.
    squared_error : float
        Sum of (p − y)².
    variance : float
        Sum of p (1 − p): what the squared errors come to if every p is true.
    error_variance : float
        Sum of (1 − 2p)² p (1 − p): the variance of the squared errors if every p is true.
    """

    count: int
    foretold: float
    happened: float
    squared_error: float
    variance: float
    error_variance: float


@dataclass(frozen=True)
class Honesty:
    """How what was foretold compares with what happened.

    Parameters
    ----------
    count : int
        Coupons.
    foretold, seen : float or None
        Mean chance foretold, and share in which it happened; None without a coupon.
    low, high : float
        95 % interval of the share, exact (Clopper and Pearson), so that an honest forecast is
        seldom blamed even where the chance is near 0 or 1.
    brier, base_brier : float or None
        Mean squared error of the chances (Brier, Mon. Weather Rev. 78, 1950, from memory), and
        that of always saying the share that was seen.
    z, p : float or None
        Spiegelhalter's test (Stat. Med. 5, 1986, from memory): how far the squared errors are
        above (positive) or below what the chances promise, and how likely as much or more is for
        true chances. None where the rarer outcome is expected fewer than 5 times.
    reading : str
        One of `FEW`, `AS_SAID`, `TOO_SURE`, `TOO_CAUTIOUS`, `UNEVEN`; `words` says it.
    """

    count: int
    foretold: float | None
    seen: float | None
    low: float
    high: float
    brier: float | None
    base_brier: float | None
    z: float | None
    p: float | None
    reading: str

    @property
    def difference(self) -> tuple[float, float, float] | None:
        """Foretold less seen, with its 95 % interval; None without a coupon."""
        if self.foretold is None or self.seen is None:
            return None
        return self.foretold - self.seen, self.foretold - self.high, self.foretold - self.low

    def words(self) -> str:
        """Return said, seen, count and reading in one line."""
        reading = say(self.reading, fewest=FEWEST)
        if self.foretold is None or self.seen is None:
            return say("nothing foretold yet: {reading}", reading=reading)
        found = _said_and_seen(self.foretold, self.seen, self.low, self.high, self.count)
        return f"{found}: {reading}"


def _said_and_seen(foretold: float, seen: float, low: float, high: float, count: int) -> str:
    return say(
        _SAID_AND_SEEN,
        said=100 * foretold,
        seen=100 * seen,
        low=100 * low,
        high=100 * high,
        count=count,
    )


def sums_of(foretold: ArrayLike, happened: ArrayLike) -> ForetoldSums:
    """Return the sums of chances and outcomes.

    Parameters
    ----------
    foretold : array_like
        Chances that were foretold, 0 to 1.
    happened : array_like
        True or 1 where it happened, in the same order.

    Raises
    ------
    InputError
        Unlike lengths, a chance outside 0 to 1, an outcome that is neither 0 nor 1.
    """
    p, y = _checked(foretold, happened)
    variance = p * (1 - p)
    return ForetoldSums(
        count=len(p),
        foretold=float(p.sum()),
        happened=float(y.sum()),
        squared_error=float(((p - y) ** 2).sum()),
        variance=float(variance.sum()),
        error_variance=float(((1 - 2 * p) ** 2 * variance).sum()),
    )


def _checked(
    foretold: ArrayLike, happened: ArrayLike
) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], ...]:
    p, y = (np.asarray(each, dtype=float).ravel() for each in (foretold, happened))
    if len(p) != len(y):
        raise InputError(
            say(
                "{chances} chances and {outcomes} outcomes: each chance needs one outcome",
                chances=len(p),
                outcomes=len(y),
            )
        )
    if len(p) and not (p.min() >= 0 and p.max() <= 1):  # False for what is not a number
        raise InputError(
            say(
                "a chance runs from 0 to 1; here they run from {low} to {high}",
                low=p.min(),
                high=p.max(),
            )
        )
    if not np.isin(y, (0.0, 1.0)).all():
        raise InputError(say("an outcome is 0 or 1; something else is among them"))
    return p, y


def honesty(foretold: ArrayLike, happened: ArrayLike, *, hoped_for: bool = True) -> Honesty:
    """Return how chances compare with what happened.

    Parameters
    ----------
    foretold, happened : array_like
        As for `sums_of`.
    hoped_for : bool
        Whether it is good that it happens: a sound weld is hoped for, expulsion is not. It decides
        which error is called too sure.
    """
    return honesty_of_sums(sums_of(foretold, happened), hoped_for=hoped_for)


def honesty_of_sums(sums: ForetoldSums, *, hoped_for: bool = True) -> Honesty:
    """Return how chances compare with what happened, from their sums.

    Parameters
    ----------
    sums : ForetoldSums
        Added up anywhere.
    hoped_for : bool
        As for `honesty`.

    Returns
    -------
    Honesty
        It is called too sure or too cautious where what was said lies outside the 95 % interval
        of what was seen; uneven where only Spiegelhalter's test objects, at 1 %.
    """
    if sums.count == 0:
        return Honesty(0, None, None, 0.0, 1.0, None, None, None, None, FEW)
    count = sums.count
    foretold = sums.foretold / count
    rate = pass_rate(round(sums.happened), count, "exact")
    seen = sums.happened / count
    z = _spiegelhalter(sums)
    p = None if z is None else float(2 * ndtr(-abs(z)))
    reading = FEW
    if count >= FEWEST:
        reading = _reading(foretold, rate.low, rate.high, p, hoped_for=hoped_for)
    brier = sums.squared_error / count
    return Honesty(
        count, foretold, seen, rate.low, rate.high, brier, seen * (1 - seen), z, p, reading
    )


def _spiegelhalter(sums: ForetoldSums) -> float | None:
    # (p − y)² − p (1 − p) is (y − p)(1 − 2p), the terms of the test as it is usually written.
    if sums.variance < _FEWEST_RARE or math.isclose(sums.error_variance, 0.0, abs_tol=1e-9):
        return None
    return (sums.squared_error - sums.variance) / sqrt(sums.error_variance)


def _reading(foretold: float, low: float, high: float, p: float | None, *, hoped_for: bool) -> str:
    if foretold > high:
        return TOO_SURE if hoped_for else TOO_CAUTIOUS
    if foretold < low:
        return TOO_CAUTIOUS if hoped_for else TOO_SURE
    return UNEVEN if p is not None and p < _SPREAD_LEVEL else AS_SAID


def reliability(foretold: ArrayLike, happened: ArrayLike, bins: int = 10) -> pd.DataFrame:
    """Return how often it happened where about the same chance was foretold.

    Parameters
    ----------
    foretold, happened : array_like
        As for `sums_of`.
    bins : int
        Bins at most; fewer where some would be almost empty.

    Returns
    -------
    DataFrame
        As `reliability_from_bins`; equal chances are always in one bin.
    """
    p, y = _checked(foretold, happened)
    each = pd.DataFrame({"low": p, "high": p, "count": 1, "sum_foretold": p, "sum_happened": y})
    return reliability_from_bins(each.groupby("low", as_index=False).agg(_AGREED), bins)


_AGREED = {"high": "max", "count": "sum", "sum_foretold": "sum", "sum_happened": "sum"}


def reliability_from_bins(bins: pd.DataFrame, most: int = 10) -> pd.DataFrame:
    """Return the reliability table from sums over narrow bins, neighbours merged.

    Parameters
    ----------
    bins : DataFrame
        Columns ``low``, ``high`` (ends of a bin, as chances), ``count``, ``sum_foretold``,
        ``sum_happened``; in any order, empty ones allowed.
    most : int
        Bins at most.

    Returns
    -------
    DataFrame
        One row a bin, low chances first: ``bin_low``, ``bin_high``, ``foretold`` (mean chance),
        ``seen`` (share that happened), ``low``, ``high`` (95 % interval of it, Wilson), ``count``
        and ``reading`` in words. Bins are about equally full; each holds at least 10 coupons,
        unless there are fewer in all.

    Raises
    ------
    InputError
        A column is missing, or no bin is allowed.
    """
    if most < 1:
        raise InputError(say("{bins} bins hold nothing; 1 or more do", bins=most))
    if lacking := [name for name in _BIN_COLUMNS if name not in bins.columns]:
        raise InputError(
            say(
                "the sums lack the column {column}; {columns} do it",
                column=lacking[0],
                columns=", ".join(_BIN_COLUMNS),
            )
        )
    filled = bins[bins["count"] > 0].sort_values("low", ignore_index=True)
    counts = [int(count) for count in filled["count"]]
    merged = filled.groupby(_places(counts, most), as_index=False).agg({"low": "min"} | _AGREED)
    return pd.DataFrame(
        [_row(*values) for values in merged[list(_BIN_COLUMNS)].itertuples(index=False)],
        columns=["bin_low", "bin_high", "foretold", "seen", "low", "high", "count", "reading"],
    )


def _places(counts: Sequence[int], most: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Return to which merged bin each narrow one goes; a rest that is too small joins the last."""
    places, place, held, left = [], 0, 0, sum(counts)
    wanted = ceil(left / most)
    for count in counts:
        if held >= max(FEWEST_IN_BIN, wanted) and left >= FEWEST_IN_BIN and place < most - 1:
            place, held = place + 1, 0
            wanted = ceil(left / (most - place))
        places.append(place)
        held, left = held + count, left - count
    return np.asarray(places, dtype=np.int64)


def _row(
    low: float, high: float, count: int, sum_foretold: float, sum_happened: float
) -> tuple[float, float, float, float, float, float, int, str]:
    rate = pass_rate(round(sum_happened), int(count))
    foretold, seen = sum_foretold / count, sum_happened / count
    words = _said_and_seen(foretold, seen, rate.low, rate.high, int(count))
    return float(low), float(high), foretold, seen, rate.low, rate.high, int(count), words
