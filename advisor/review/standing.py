"""What a pass rate says about the shop's target: below it, at or above it, or too little to say.

A group is called below the target, or at or above it, only if two intervals say so: the one from
its own coupons alone, and the one that is drawn towards its colleagues (`shrinkage`). The first
keeps anybody from being blamed, or praised, for what colleagues do; the second keeps the unlucky
one of many equal welders from being called bad, which the first alone does the more often the more
welders there are. Fewer than `LEAST_JUDGED` coupons of its own never place a group.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.review.intervals import Method, PassRate, pass_rate, percent
from advisor.review.shrinkage import PooledRate, pooled_rates
from advisor.weld.words import TradeWord

#: Share of coupons that should pass; common practice, no source.
TARGET = 0.90
#: With fewer judged coupons, one more moves the rate by 20 points; common practice, no source.
LEAST_JUDGED = 5


class Standing(TradeWord):
    """Where a group stands against the target."""

    BELOW = "below", msg("below target")
    UNSURE = "unsure", msg("too few to say")
    ABOVE = "above", msg("at or above target")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("standing")


_AGAINST = {
    Standing.BELOW: msg("below target {target:g} %"),
    Standing.UNSURE: msg("too few to say about target {target:g} %"),
    Standing.ABOVE: msg("at or above target {target:g} %"),
}
_RAW = msg("raw {passed} of {judged}, {rate} % ({level:g} % interval {low} to {high} %)")
#: The level stands with the pooled rate already.
_RAW_BESIDE_POOLED = msg("raw {passed} of {judged}, {rate} % ({low} to {high} %)")


@dataclass(frozen=True)
class Reading:
    """One group's coupons, read against the target.

    Parameters
    ----------
    name : str
        Name of the group: a welder, a machine, a stack.
    passed, failed, open : int
        Coupons that passed, failed, and are not yet judged.
    raw : PassRate
        Rate from the group's own coupons.
    pooled : PooledRate or None
        Rate drawn towards the other groups; None where groups must not speak for each other.
    standing : Standing
        What the rates say about the target.
    target : float
        Share of coupons that should pass.
    """

    name: str
    passed: int
    failed: int
    open: int
    raw: PassRate
    pooled: PooledRate | None
    standing: Standing
    target: float = TARGET

    def words(self) -> str:
        """Return both rates and the standing in one line."""
        parts = [] if self.pooled is None else [self._pooled_words(self.pooled)]
        parts += [self._raw_words(), self._standing_words()]
        if self.open:
            parts.append(say("{count} not yet judged", count=self.open))
        return "; ".join(parts)

    def _pooled_words(self, pooled: PooledRate) -> str:
        return say(
            "pooled {rate} % ({level:g} % interval {low} to {high} %)",
            rate=self._percent(pooled.rate),
            level=100 * self.raw.level,
            low=self._percent(pooled.low),
            high=self._percent(pooled.high),
        )

    def _raw_words(self) -> str:
        raw = self.raw
        if raw.rate is None:
            return say("nothing judged yet")
        return say(
            _RAW_BESIDE_POOLED if self.pooled else _RAW,
            passed=raw.passed,
            judged=raw.judged,
            rate=self._percent(raw.rate),
            level=100 * raw.level,
            low=self._percent(raw.low),
            high=self._percent(raw.high),
        )

    def _standing_words(self) -> str:
        return say(_AGAINST[self.standing], target=100 * self.target)

    def _percent(self, share: float) -> str:
        return percent(share, beside=self.target)


def read_groups(
    counts: pd.DataFrame,
    target: float = TARGET,
    method: Method = "wilson",
    pool: bool = True,
    level: float = 0.95,
) -> list[Reading]:
    """Read each group's coupons against the target.

    Parameters
    ----------
    counts : DataFrame of shape (n_groups, 4)
        ``name``, ``passed``, ``failed``, ``open``.
    target : float
        Share of coupons that should pass, above 0 and below 1.
    method : {'wilson', 'exact', 'jeffreys'}
        Interval of a group's own rate.
    pool : bool
        Whether nothing but their coupons tells the groups apart, as with the welders of a shop;
        False for periods or states of the adhesive, which are judged by their own coupons alone.
    level : float
        Level of all intervals.

    Returns
    -------
    list of Reading
        First who is below the target, lowest rate first; then those with too few coupons to say,
        most coupons first, because a rank by rate would be a rank by luck; then who is at or
        above it, highest rate last. The rate that ranks is the pooled one; without pooling it is
        the end of the interval next to the target, which few coupons cannot carry far.

    Raises
    ------
    InputError
        Counts, a target or a level that cannot be.
    """
    _check_target(target)
    rows = [
        (str(name), int(passed), int(failed), int(waiting))
        for name, passed, failed, waiting in zip(
            *(counts[column] for column in ("name", "passed", "failed", "open")), strict=True
        )
    ]
    raw = [pass_rate(passed, passed + failed, method, level) for _, passed, failed, _ in rows]
    readings = [
        Reading(*row, own, drawn, _standing(own, drawn, target), target)
        for row, own, drawn in zip(rows, raw, _drawn(raw, pool, level), strict=True)
    ]
    return sorted(readings, key=_rank)


def coupons_needed(
    passed: int,
    judged: int,
    target: float = TARGET,
    method: Method = "wilson",
    level: float = 0.95,
) -> int:
    """Return how many more coupons must pass in a row before a group can be at or above target.

    Parameters
    ----------
    passed, judged : int
        Passing coupons so far, and all that were judged.
    target : float
        Share of coupons that should pass, above 0 and below 1.
    method : {'wilson', 'exact', 'jeffreys'}
        Interval of the group's own rate.
    level : float
        Its level.

    Returns
    -------
    int
        Fewest coupons, all of them passing; 0 where its own coupons say it already. More are
        needed when one fails, or while what colleagues do speaks against it.

    Raises
    ------
    InputError
        Counts, a target or a level that cannot be.
    """
    _check_target(target)

    def enough(more: int) -> bool:
        own = pass_rate(passed + more, judged + more, method, level)
        return own.judged >= LEAST_JUDGED and own.low >= target

    if enough(0):
        return 0
    most = 1
    while not enough(most):
        most *= 2
    least = most // 2
    while most - least > 1:
        middle = (least + most) // 2
        least, most = (least, middle) if enough(middle) else (middle, most)
    return most


def _check_target(target: float) -> None:
    if not 0 < target < 1:
        raise InputError(
            say(
                "the target is {target:g} %; it must be above 0 % and below 100 %, because no "
                "number of coupons shows that all will pass",
                target=100 * target,
            )
        )


def _drawn(raw: list[PassRate], pool: bool, level: float) -> Iterable[PooledRate | None]:
    if not pool:
        return [None] * len(raw)
    return pooled_rates([rate.passed for rate in raw], [rate.judged for rate in raw], level)


def _standing(raw: PassRate, pooled: PooledRate | None, target: float) -> Standing:
    rates: list[PassRate | PooledRate] = [raw] if pooled is None else [raw, pooled]
    if raw.judged < LEAST_JUDGED:
        return Standing.UNSURE
    if max(rate.high for rate in rates) < target:
        return Standing.BELOW
    if min(rate.low for rate in rates) >= target:
        return Standing.ABOVE
    return Standing.UNSURE


def _rank(reading: Reading) -> tuple[int, float, str]:
    order = list(Standing).index(reading.standing)
    if reading.standing is Standing.UNSURE:
        return order, -reading.raw.judged, reading.name
    raw = reading.raw
    end = raw.high if reading.standing is Standing.BELOW else raw.low
    return order, reading.pooled.rate if reading.pooled else end, reading.name
