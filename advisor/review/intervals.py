"""How sure a pass rate is: a rate from few coupons says little, and the interval shows it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

import scipy
from scipy.special import betaincinv

from advisor.errors import InputError
from advisor.language import figure, msg, say

Method = Literal["wilson", "exact", "jeffreys"]

_NAMES: dict[Method, str] = {
    "wilson": msg("Wilson"),
    "exact": msg("exact"),
    "jeffreys": msg("Jeffreys"),
}


@dataclass(frozen=True)
class PassRate:
    """Passes out of judged coupons, with an interval.

    Parameters
    ----------
    passed, judged : int
        Passing coupons, and all that were judged.
    rate : float or None
        Share that passed; None when nothing was judged.
    low, high : float
        Ends of the interval; 0 and 1 when nothing was judged.
    method : {'wilson', 'exact', 'jeffreys'}
        Which interval it is.
    level : float
        Its confidence level; 0.95 is a choice of this project, usual in statistics.
    """

    passed: int
    judged: int
    rate: float | None
    low: float
    high: float
    method: Method = "wilson"
    level: float = 0.95

    def words(self) -> str:
        """Return rate, count and interval in one line."""
        if self.rate is None:
            return say("nothing judged yet")
        return say(
            "{rate} % ({passed} of {judged}), {level:g} % interval {low} to {high} % ({method})",
            rate=percent(self.rate),
            passed=self.passed,
            judged=self.judged,
            level=100 * self.level,
            low=percent(self.low),
            high=percent(self.high),
            method=say(_NAMES[self.method]),
        )


def pass_rate(passed: int, judged: int, method: Method = "wilson", level: float = 0.95) -> PassRate:
    """Return a pass rate with its two-sided interval.

    Parameters
    ----------
    passed, judged : int
        Passing coupons, and all that were judged.
    method : {'wilson', 'exact', 'jeffreys'}
        Wilson score (Newcombe, Stat. Med. 17, 1998) or Clopper-Pearson, both by scipy; or the
        equal-tailed interval from Jeffreys' prior, with 0 and 1 as its ends where nothing or
        all passed (Brown, Cai and DasGupta, Stat. Sci. 16, 2001, from memory).
    level : float
        Confidence level, above 0 and below 1.

    Returns
    -------
    PassRate
        Rate and interval. Five passes of five still allow a true rate of 57 % (Wilson).

    Raises
    ------
    InputError
        Counts or a level that cannot be.
    """
    if not 0 <= passed <= judged:
        raise InputError(
            say(
                "{passed} passes of {judged} coupons cannot be; 0 to {judged} can",
                passed=passed,
                judged=judged,
            )
        )
    check_level(level)
    if judged == 0:
        return PassRate(0, 0, None, 0.0, 1.0, method, level)
    low, high = _ends(passed, judged, method, level)
    return PassRate(passed, judged, passed / judged, low, high, method, level)


def check_level(level: float) -> None:
    """Refuse a confidence level that is not above 0 and below 1 with an `InputError`."""
    if not 0 < level < 1:
        raise InputError(say("the level is {level:g}; it must be above 0 and below 1", level=level))


def percent(share: float, beside: float | None = None) -> str:
    """Return a share as a number of percent, rounded so that it does not mislead.

    Parameters
    ----------
    share : float
        0 to 1.
    beside : float, optional
        A limit that the share is read against.

    Returns
    -------
    str
        Whole percent; with decimals where whole percent would show 0, 100 or the limit though
        the share is another.
    """
    return figure(Decimal(_rounded(share, beside)))


def _rounded(share: float, beside: float | None) -> str:
    shown = f"{100 * share:.0f}"
    if shown in ("0", "100") and 0 < share < 1:
        shown = f"{min(max(100 * share, 0.1), 99.9):.1f}"
    for digits in (1, 2):
        if beside is None or share == beside or float(shown) != round(100 * beside, 6):
            break
        shown = f"{100 * share:.{digits}f}"
    return shown


def _ends(passed: int, judged: int, method: Method, level: float) -> tuple[float, float]:
    failed, tail = judged - passed, (1 - level) / 2
    if method == "wilson":
        interval = scipy.stats.binomtest(passed, judged).proportion_ci(level, method=method)
        return float(interval.low), float(interval.high)
    # Ends as quantiles of beta distributions, whose parameters are a half or one more than counts.
    more = (0.5, 0.5) if method == "jeffreys" else (0.0, 1.0)
    low = float(betaincinv(passed + more[0], failed + more[1], tail)) if passed else 0.0
    high = float(betaincinv(passed + more[1], failed + more[0], 1 - tail)) if failed else 1.0
    return low, high
