"""Size against welds since dressing: how fast a cap wears, and when to dress it.

A straight line by least squares. The weld count at which the mean meets the minimum is a ratio of
two estimates; its interval is by Fieller's theorem (Fieller, J. R. Stat. Soc. B 16, 1954, from
memory) and may have no end: then no wear has been shown. The dressing interval never goes beyond
the largest count that was tested.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from advisor.language import say

#: Fewest coupons with a count, and fewest welds between the lowest and the highest count (common
#: practice, no source).
FEWEST, SHORTEST_SPAN = 8, 20
#: Chance that a single weld at the end of the dressing interval still meets the minimum. Choice of
#: this project: the level that intervals have here too.
SINGLE_WELD_LEVEL = 0.95

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Estimate:
    """A value with its interval, all in one unit; an end may be infinite."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class WearReading:
    """What the coupons say about wear of the caps.

    Parameters
    ----------
    coupons : int
        Coupons with a count and a value.
    largest_count : int
        Largest count tested. [welds]
    slope : Estimate or None
        Change of the value a hundred welds. [mm per root mm]
    at_minimum : Estimate or None
        Count at which the mean meets the minimum; its upper end is infinite where no wear was
        shown, and it is None where the sizes do not fall at all. [welds]
    welds_left : Estimate or None
        Welds from the newest count to that, none of it below 0. [welds]
    dressing_interval : int or None
        Largest tested count, in tens, at which a single weld still meets the minimum; None where
        there is none. [welds]
    level : float
        Of the intervals; 0.95 is a choice of this project, usual in statistics.
    refusal : str
        Why nothing is said, in the language spoken when the reading was made; empty when
        something is.
    """

    coupons: int
    largest_count: int = 0
    slope: Estimate | None = None
    at_minimum: Estimate | None = None
    welds_left: Estimate | None = None
    dressing_interval: int | None = None
    level: float = 0.95
    refusal: str = ""

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reading in words."""
        if self.refusal or self.slope is None:
            return (self.refusal,)
        return (self._wear_words(self.slope), self._dressing_words())

    def _wear_words(self, slope: Estimate) -> str:
        left = self.welds_left
        if left is None or not np.isfinite(left.high):
            return say(
                "No wear seen up to {largest} welds since dressing.", largest=self.largest_count
            )
        if left.value <= 0:
            return say(
                "{worn:.2f} mm/√mm less every 100 welds since dressing; the mean is at the "
                "minimum now.",
                worn=abs(slope.value),
            )
        return say(
            "{worn:.2f} mm/√mm less every 100 welds since dressing; if that goes on, the "
            "mean meets the minimum in {left:.0f} welds ({level:g} % interval {low:.0f} to "
            "{high:.0f}).",
            worn=abs(slope.value),
            left=left.value,
            level=100 * self.level,
            low=left.low,
            high=left.high,
        )

    def _dressing_words(self) -> str:
        if self.dressing_interval is None:
            return say(
                "At no tested weld count is a single weld 95 % sure to meet the minimum: dress or "
                "change the caps, and look at the setting."
            )
        if self.dressing_interval > self.largest_count - 10:
            return say(
                "Dress at {welds} welds at the latest: up to there a single weld is 95 % sure to "
                "meet the minimum, and {largest} is as far as was tested.",
                welds=self.dressing_interval,
                largest=self.largest_count,
            )
        return say(
            "Dress at {welds} welds at the latest: beyond, a single weld is no longer 95 % sure to "
            "meet the minimum.",
            welds=self.dressing_interval,
        )


@dataclass(frozen=True)
class Line:
    """A least-squares line through (welds, values).

    Parameters
    ----------
    n : int
        Points.
    middle, height : float
        Mean count and mean value. [welds], [mm per root mm]
    slope : float
        Change of the value a weld.
    squares : float
        Sum of squares of the counts about their mean.
    sd : float
        Scatter about the line.
    """

    n: int
    middle: float
    height: float
    slope: float
    squares: float
    sd: float

    @classmethod
    def through(cls, welds: Floats, values: Floats) -> Line:
        """Fit the line; `welds` must hold two counts at least."""
        off = welds - welds.mean()
        squares = float(off @ off)
        slope = float(off @ values / squares)
        residuals = values - values.mean() - slope * off
        sd = float(np.sqrt(residuals @ residuals / (len(welds) - 2)))
        mean = float(values.mean())
        return cls(len(welds), float(welds.mean()), mean, slope, squares, sd)

    def quantile(self, level: float) -> float:
        """Return the one-sided quantile of Student's t with this line's degrees of freedom."""
        return float(stdtrit(self.n - 2, level))

    def single_low(self, welds: Floats, level: float = SINGLE_WELD_LEVEL) -> Floats:
        """Return the one-sided lower prediction bound for a single weld at each count."""
        off = welds - self.middle
        spread = self.sd * np.sqrt(1 + 1 / self.n + off**2 / self.squares)
        bound = self.height + self.slope * off - self.quantile(level) * spread
        return np.asarray(bound, dtype=float)

    def slope_estimate(self, level: float) -> Estimate:
        """Return the slope a weld with its two-sided interval."""
        half = self.quantile((1 + level) / 2) * self.sd / np.sqrt(self.squares)
        return Estimate(self.slope, self.slope - half, self.slope + half)

    def reaches(self, minimum: float, level: float) -> Estimate | None:
        """Return the count at which the mean meets `minimum`, by Fieller's theorem.

        None where the line does not fall. The upper end is infinite where the slope could be none
        at all, the lower one is -inf where the mean could be at the minimum everywhere.
        """
        if self.slope >= 0:
            return None
        t2 = self.quantile((1 + level) / 2) ** 2 * self.sd**2
        above = self.height - minimum
        a, b, c = self.slope**2 - t2 / self.squares, self.slope * above, above**2 - t2 / self.n
        best = self.middle - above / self.slope
        if a > 0:
            # b² - a c cannot be negative here but for rounding.
            root = np.sqrt(max(b * b - a * c, 0.0))
            return Estimate(best, self.middle + (-b - root) / a, self.middle + (-b + root) / a)
        if c <= 0 or b * b < a * c or above <= 0:
            return Estimate(best, -np.inf, np.inf)
        return Estimate(best, self.middle + c / (np.sqrt(b * b - a * c) - b), np.inf)


def forecast(
    welds: ArrayLike, values: ArrayLike, minimum: float, level: float = 0.95
) -> WearReading:
    """Read wear from coupons on one pair of caps.

    Parameters
    ----------
    welds : array-like of shape (n_coupons,)
        Welds since dressing, the newest coupon last; NaN where nobody counted. [welds]
    values : array-like of shape (n_coupons,)
        Weld size over root of the governing thickness; NaN where there is none. [mm per root mm]
    minimum : float
        Smallest value that passes. [mm per root mm]
    level : float
        Of the two-sided intervals.
    """
    given, sizes = _usable(welds, values)
    if refusal := _refusal(given):
        return WearReading(len(given), refusal=refusal)
    line = Line.through(given, sizes)
    each = line.slope_estimate(level)
    slope = Estimate(100 * each.value, 100 * each.low, 100 * each.high)
    found = line.reaches(minimum, level)
    return WearReading(
        len(given),
        int(given.max()),
        slope,
        found,
        _left(found, float(given[-1])),
        _dressing_interval(line, given, minimum),
        level,
    )


def _usable(welds: ArrayLike, values: ArrayLike) -> tuple[Floats, Floats]:
    given, sizes = np.asarray(welds, dtype=float), np.asarray(values, dtype=float)
    there = ~(np.isnan(given) | np.isnan(sizes))
    return given[there], sizes[there]


def curve(welds: ArrayLike, values: ArrayLike, points: int = 40) -> pd.DataFrame:
    """Return the line over the tested counts, with the bounds of a single weld.

    Parameters
    ----------
    welds, values : array_like
        As for `forecast`, enough of them for it.
    points : int
        Counts at which it is given.

    Returns
    -------
    DataFrame of shape (points, 4)
        ``welds``, ``fitted``, ``low`` and ``high``: 5 of 100 single welds are below the one, as
        many above the other. [mm per root mm]
    """
    counts, sizes = _usable(welds, values)
    line = Line.through(counts, sizes)
    at = np.linspace(counts.min(), counts.max(), points)
    fitted = line.height + line.slope * (at - line.middle)
    low = line.single_low(at)
    return pd.DataFrame({"welds": at, "fitted": fitted, "low": low, "high": 2 * fitted - low})


def _refusal(welds: Floats) -> str:
    if len(welds) < FEWEST:
        return say(
            "Wear: {count} coupons on these caps carry the welds since dressing; {fewest} are "
            "needed. Write the count down with each coupon.",
            count=len(welds),
            fewest=FEWEST,
        )
    span = welds.max() - welds.min()
    if span < SHORTEST_SPAN:
        return say(
            "Wear: the coupons lie within {span:.0f} welds of each other since dressing; test some "
            "at least {shortest} welds apart.",
            span=span,
            shortest=SHORTEST_SPAN,
        )
    return ""


def _left(at_minimum: Estimate | None, now: float) -> Estimate | None:
    if at_minimum is None:
        return None
    ends = (at_minimum.value, at_minimum.low, at_minimum.high)
    return Estimate(*(max(end - now, 0.0) for end in ends))


def _dressing_interval(line: Line, welds: Floats, minimum: float) -> int | None:
    tens = np.arange(max(10, 10 * np.ceil(welds.min() / 10)), welds.max() + 1e-9, 10)
    fine = tens[line.single_low(tens) >= minimum]
    return int(fine[-1]) if len(fine) else None
