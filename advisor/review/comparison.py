"""Whether two welders differ, once it is considered who welded what.

One who gets the hard stacks fails more coupons than one who gets the easy ones, however well both
weld. So passes are compared within strata, work of one kind (a stack on a machine), never across.

The test is exact and conditional: within a stratum, if both weld alike, the share of one in the
passes is hypergeometric; the sum over the strata is their convolution (the exact form of the test
of Cochran, Mantel and Haenszel for a common odds ratio of 1). Two-sided: all sums no more likely
than the one seen count; in `p_exact` in full, in `p` (mid-p) those just as likely as the seen one
count half, because the exact one alarms more seldom than it says when coupons are few. The odds
ratio is that of Mantel and Haenszel, its interval by Robins, Breslow and Greenland (Biometrics 42,
1986, from memory); where one welder has all the luck there is, by the exact distribution.

Looking through all pairs of a shop finds a difference by chance sooner or later: ask about two
welders for a reason.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import reduce
from typing import NamedTuple

import numpy as np
import pandas as pd
import scipy
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import logsumexp, ndtri

from advisor.errors import InputError
from advisor.language import figure, say, say_number
from advisor.review.intervals import check_level, percent

Floats = NDArray[np.float64]

#: With fewer coupons on common work, one alone would decide (common practice, no source).
FEWEST = 5
_COUNTS = ["passed_a", "failed_a", "passed_b", "failed_b"]
#: Outcomes whose chances differ by less than this share are equally likely. Choice of this project:
#: rounding, as in other exact tests.
_SAME = 1e-7


@dataclass(frozen=True)
class Comparison:
    """Two welders on the same work.

    Parameters
    ----------
    a, b : str
        Their names.
    p : float or None
        Chance of a gap no more likely than the one seen if both weld alike (mid-p); None when
        no kind of work can be compared.
    p_exact : float or None
        The same with the seen outcome counted in full.
    odds_ratio : float or None
        Odds of passing of `a` over those of `b` on the same work; may be 0 or infinite.
    low, high : float or None
        Ends of its interval.
    seen_a : int
        Passes of `a` in the work that can be compared.
    expected_a : float
        Passes of `a` expected there if both weld alike.
    usable_a, usable_b : int
        Judged coupons of each in the work that can be compared: welded by both, some of it
        passing and some failing.
    strata : int
        Kinds of work that can be compared.
    naive_p : float or None
        `p` if nobody asked who welded what; None unless both have coupons.
    naive_rate_a, naive_rate_b : float or None
        Pass rates over all coupons; None without coupons.
    level : float
        Level of the interval; a `p` below one minus it is called a difference. 0.95 is a choice of
        this project, usual in statistics.
    """

    a: str
    b: str
    p: float | None
    p_exact: float | None
    odds_ratio: float | None
    low: float | None
    high: float | None
    seen_a: int
    expected_a: float
    usable_a: int
    usable_b: int
    strata: int
    naive_p: float | None
    naive_rate_a: float | None
    naive_rate_b: float | None
    level: float = 0.95

    def words(self) -> str:
        """Return what the coupons say about the two, in one text."""
        return " ".join(self.sentences)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the coupons say about the two, part by part."""
        if self.p is None:
            parts = [
                say(
                    "{a} and {b} cannot be compared: there is no kind of work that both welded and "
                    "of which some coupons passed and some failed.",
                    a=self.a,
                    b=self.b,
                )
            ]
        else:
            parts = [self._passes_words(), self._odds_words(), self._chance_words(self.p)]
        return tuple(filter(None, [*parts, self._naive_words()]))

    def _passes_words(self) -> str:
        work = say_number(
            "{number} kind of work can be compared, with {usable_a} judged coupons by {a} and "
            "{usable_b} by {b}.",
            "{number} kinds of work can be compared, with {usable_a} judged coupons by {a} and "
            "{usable_b} by {b}.",
            self.strata,
            usable_a=self.usable_a,
            a=self.a,
            usable_b=self.usable_b,
            b=self.b,
        )
        passes = say_number(
            "Of these, {a} has {number} pass where {expected:.1f} would be expected from the same "
            "work if both welded alike.",
            "Of these, {a} has {number} passes where {expected:.1f} would be expected from the "
            "same work if both welded alike.",
            self.seen_a,
            a=self.a,
            expected=self.expected_a,
        )
        return f"{work} {passes}"

    def _odds_words(self) -> str:
        ratio, low, high = self.odds_ratio, self.low, self.high
        if ratio is None or low is None or high is None:
            return ""
        shown = {"a": self.a, "b": self.b, "level": 100 * self.level}
        shown |= {"low": _number(low), "high": _number(high)}
        if ratio == 0:
            return say(
                "The odds of {a} to pass are at most {high} times those of {b} (end of the "
                "{level:g} % interval).",
                **shown,
            )
        if math.isinf(ratio):
            return say(
                "The odds of {a} to pass are at least {low} times those of {b} (end of the "
                "{level:g} % interval).",
                **shown,
            )
        return say(
            "The odds of {a} to pass are {ratio} times those of {b} ({level:g} % interval {low} to "
            "{high}).",
            ratio=_number(ratio),
            **shown,
        )

    def _chance_words(self, p: float) -> str:
        return say(
            "If both welded alike, chance alone would bring a gap like this, or a rarer one, in "
            "{share} of 100 such comparisons: {so}.",
            share=self._of_100(p),
            so=self._so(p),
        )

    def _so(self, p: float) -> str:
        if min(self.usable_a, self.usable_b) < FEWEST:
            return say(
                "fewer than {fewest} coupons of one of them say nothing about either",
                fewest=FEWEST,
            )
        if p >= 1 - self.level:
            return say(
                "these coupons do not tell the two apart, which does not show that they are equal"
            )
        if self.seen_a > self.expected_a:
            return say("on the same work {a} passes more often than {b}", a=self.a, b=self.b)
        return say("on the same work {a} passes less often than {b}", a=self.a, b=self.b)

    def _naive_words(self) -> str:
        if self.naive_rate_a is None or self.naive_rate_b is None or self.naive_p is None:
            return ""
        return say(
            "Over all work, {rate_a} % by {a} and {rate_b} % by {b} passed (chance alone: {share} "
            "of 100), which mixes the welder with the work.",
            rate_a=percent(self.naive_rate_a),
            a=self.a,
            rate_b=percent(self.naive_rate_b),
            b=self.b,
            share=self._of_100(self.naive_p),
        )

    def _of_100(self, p: float) -> str:
        if p < 0.001:
            return say("fewer than {least:g}", least=0.1)
        return percent(p, beside=1 - self.level)


class _Odds(NamedTuple):
    ratio: float
    low: float
    high: float


def compare(strata: pd.DataFrame, a: str, b: str, level: float = 0.95) -> Comparison:
    """Compare the passes of two welders on the same work.

    Parameters
    ----------
    strata : DataFrame
        ``stratum``, ``passed_a``, ``failed_a``, ``passed_b``, ``failed_b``: judged coupons of
        each kind of work. Rows of the same stratum are added up.
    a, b : str
        Names of the two.
    level : float
        Level of the interval, above 0 and below 1.

    Returns
    -------
    Comparison
        With None for everything that needs common work where there is none.

    Raises
    ------
    InputError
        Counts or a level that cannot be, or one welder twice.
    """
    _check(strata, a, b, level)
    cells = strata.groupby("stratum", dropna=False)[_COUNTS].sum().to_numpy(dtype=float)
    usable = cells[_informative(cells)]
    merged = cells.sum(axis=0, keepdims=True)
    naive_p = _p_values(merged)[0] if merged[0, :2].any() and merged[0, 2:].any() else None
    p, p_exact = _p_values(usable) if len(usable) else (None, None)
    odds = _odds(usable, level) if len(usable) else None
    totals = usable.sum(axis=0)
    return Comparison(
        a,
        b,
        p,
        p_exact,
        odds_ratio=odds.ratio if odds else None,
        low=odds.low if odds else None,
        high=odds.high if odds else None,
        seen_a=int(totals[0]),
        expected_a=_expected(usable),
        usable_a=int(totals[:2].sum()),
        usable_b=int(totals[2:].sum()),
        strata=len(usable),
        naive_p=naive_p,
        naive_rate_a=_share(merged[0, :2]),
        naive_rate_b=_share(merged[0, 2:]),
        level=level,
    )


def _check(strata: pd.DataFrame, a: str, b: str, level: float) -> None:
    if a == b:
        raise InputError(
            say("{a} cannot be compared with {b}; name two different welders", a=a, b=b)
        )
    check_level(level)
    counts = strata[_COUNTS].to_numpy(dtype=float)
    wrong = counts[~((counts >= 0) & (counts == np.floor(counts)) & np.isfinite(counts))]
    if wrong.size:
        raise InputError(
            say("{count:g} coupons cannot be; it must be a whole number from 0 up", count=wrong[0])
        )


def _informative(cells: Floats) -> NDArray[np.bool_]:
    """Return which strata both welded, with passes and fails among them."""
    sides = cells[:, :2].sum(1), cells[:, 2:].sum(1), cells[:, ::2].sum(1), cells[:, 1::2].sum(1)
    found: NDArray[np.bool_] = np.all(np.array(sides) > 0, axis=0)
    return found


def _expected(cells: Floats) -> float:
    return float(np.sum(cells[:, :2].sum(1) * cells[:, ::2].sum(1) / cells.sum(1)))


def _share(sides: Floats) -> float | None:
    return float(sides[0] / sides.sum()) if sides.sum() else None


def _chances(cells: Floats) -> list[Floats]:
    """Return, per stratum, the log chances of each number of passes of `a` if both weld alike."""
    return [
        scipy.stats.hypergeom.logpmf(
            np.arange(max(0, pa - fb), min(pa + fa, pa + pb) + 1), row.sum(), pa + fa, pa + pb
        )
        for row in cells
        for pa, fa, pb, fb in (row,)
    ]


def _p_values(cells: Floats) -> tuple[float, float]:
    """Return mid-p and exact p, two-sided."""
    chances = reduce(np.convolve, [np.exp(logs) for logs in _chances(cells)])
    seen = int(np.minimum(cells[:, 0], cells[:, 3]).sum())
    rarer = float(chances[chances < chances[seen] * (1 - _SAME)].sum())
    alike = float(chances[np.abs(chances - chances[seen]) <= chances[seen] * _SAME].sum())
    return min(1.0, rarer + alike / 2), min(1.0, rarer + alike)


def _odds(cells: Floats, level: float) -> _Odds:
    """Return the common odds ratio with its interval."""
    pa, fa, pb, fb = cells.T
    total = cells.sum(axis=1)
    for_a, for_b = pa * fb / total, fa * pb / total
    r, s = float(for_a.sum()), float(for_b.sum())
    if s == 0:
        return _Odds(math.inf, _least_odds(cells, level), math.inf)
    if r == 0:
        return _Odds(0.0, 0.0, 1 / _least_odds(cells[:, [2, 3, 0, 1]], level))
    same, cross = (pa + fb) / total, (fa + pb) / total
    variance = np.sum(same * for_a) / (2 * r * r) + np.sum(cross * for_b) / (2 * s * s)
    variance += np.sum(same * for_b + cross * for_a) / (2 * r * s)
    half = float(ndtri((1 + level) / 2)) * math.sqrt(variance)
    return _Odds(r / s, r / s * math.exp(-half), r / s * math.exp(half))


def _least_odds(cells: Floats, level: float) -> float:
    """Return the lower end where `a` has all the passes it could have: the exact one."""
    strata = [(logs, np.arange(1 - len(logs), 1)) for logs in _chances(cells)]

    def excess(log_odds: float) -> float:
        share = sum(logs[-1] - logsumexp(logs + below * log_odds) for logs, below in strata)
        return float(share) - math.log((1 - level) / 2)

    return math.exp(brentq(excess, -100.0, 100.0))


def _number(ratio: float) -> str:
    return figure(ratio, ".2f" if ratio < 10 else ".0f")
