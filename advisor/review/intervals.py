"""How sure a pass rate is: a rate from few coupons says little, and the interval shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scipy.stats import binomtest

from advisor.errors import InputError

Method = Literal["wilson", "exact"]


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
    """

    passed: int
    judged: int
    rate: float | None
    low: float
    high: float

    def words(self) -> str:
        """Return rate, count and interval in one line."""
        if self.rate is None:
            return "nothing judged yet"
        return (
            f"{self.rate:.0%} ({self.passed} of {self.judged}), "
            f"95 % interval {self.low:.0%} to {self.high:.0%}"
        )


def pass_rate(passed: int, judged: int, method: Method = "wilson", level: float = 0.95) -> PassRate:
    """Return a pass rate with its two-sided interval.

    Parameters
    ----------
    passed, judged : int
        Passing coupons, and all that were judged.
    method : {'wilson', 'exact'}
        Wilson score (Newcombe, Stat. Med. 17, 1998), or Clopper-Pearson; both by scipy.
    level : float
        Confidence level, above 0 and below 1.

    Returns
    -------
    PassRate
        Rate and interval. Five passes of five still allow a true rate of 57 % (Wilson).

    Raises
    ------
    InputError
        Counts that cannot be.
    """
    if not 0 <= passed <= judged:
        raise InputError(f"{passed} passes of {judged} coupons cannot be; 0 to {judged} can")
    if judged == 0:
        return PassRate(0, 0, None, 0.0, 1.0)
    interval = binomtest(passed, judged).proportion_ci(level, method=method)
    return PassRate(passed, judged, passed / judged, float(interval.low), float(interval.high))
