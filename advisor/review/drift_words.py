"""What a reading of drift says, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from advisor.review.baseline import Baseline, Held
from advisor.review.control_charts import Rule, Signal
from advisor.review.wear import Estimate, WearReading

#: Degrees of freedom below which the stable period is called too mixed.
FEW_DF = 8.0
UNIT = "mm per root mm"


@dataclass(frozen=True, eq=False)
class Findings:
    """All that was found, as the fields of the same names of a reading."""

    baseline: Baseline
    stable: Held
    later: Held
    minimum: float
    direction: str
    signals: tuple[Signal, ...]
    change: Estimate | None
    slope_per_week: Estimate | None
    margin: float | None
    wear: WearReading

    def name(self, position: int) -> str:
        """Return number and day of a later coupon."""
        frame = self.later.frame
        return f"coupon {frame['number'].iloc[position]} ({frame['day'].iloc[position]})"


def too_few(have: int, wanted: int) -> str:
    """Return the headline where the stable period is too short.

    Parameters
    ----------
    have, wanted : int
        Stable coupons with a measured size.
    """
    missing = wanted - have
    coupons = "coupon" if missing == 1 else "coupons"
    return (
        f"No limits yet: {missing} more stable {coupons} with a measured size needed "
        f"({have} of {wanted})."
    )


def headline(found: Findings) -> str:
    """Return the reading in one line."""
    if not len(found.later.frame):
        return f"Limits stand on {_sized(found.stable)} stable coupons; no coupon since."
    if np.isnan(found.later.change):
        return "No coupon since the stable period can be held against it."
    if found.direction:
        since = [s for s in found.signals if s.rule is Rule.AVERAGE][-1]
        side = "below its lower" if found.direction == "smaller" else "above its upper"
        return (
            f"Drifting: welds are {found.direction} than in the stable period; the weighted "
            f"average is {side} limit since {found.name(since.first)}."
        )
    if found.signals:
        many = len(found.signals)
        return f"No drift now; {many} {'signal' if many == 1 else 'signals'} to look at."
    return f"No drift seen in {_sized(found.later)} coupons since the stable period."


def sentences(found: Findings) -> tuple[str, ...]:
    """Return the reading in words, without headline and signals."""
    return (
        *_basis(found),
        *_size_now(found),
        *_unjudged(found),
        *found.wear.sentences,
    )


def _sized(held: Held) -> int:
    return int((~np.isnan(held.judged)).sum())


def _basis(found: Findings) -> Iterator[str]:
    base, stable = found.baseline, found.stable
    days = stable.frame["day"]
    how = "" if base.model is None else ", like for like in stack and setting"
    yield (
        f"Held against {_sized(stable)} stable coupons ({days.iloc[0]} to {days.iloc[-1]})"
        f"{how}: centre {base.centre:.2f}, scatter {base.sd:.2f} {UNIT}."
    )
    if base.df < FEW_DF:
        yield (
            "The stable period holds too many unlike stacks for its number of coupons, so its "
            "limits are wide; weld more of the same ones."
        )
    judged = np.nan_to_num(stable.judged, nan=base.centre)
    outside = int(((judged < stable.limits.lower) | (judged > stable.limits.upper)).sum())
    if outside:
        yield (
            f"{outside} of the stable coupons lie beyond the limits themselves; look whether the "
            "period was stable."
        )


def _size_now(found: Findings) -> Iterator[str]:
    change, slope, margin = found.change, found.slope_per_week, found.margin
    if change is None or margin is None:
        return
    side = "below" if change.value < 0 else "above"
    yield (
        f"The weighted average now is {abs(change.value):.2f} {UNIT} {side} the stable period "
        f"(95 % interval {change.low:+.2f} to {change.high:+.2f})."
    )
    if slope is not None:
        yield (
            f"Slope since: {slope.value:+.3f} {UNIT} a week "
            f"(95 % interval {slope.low:+.3f} to {slope.high:+.3f})."
        )
    side = "below" if margin < 0 else "above"
    yield f"It is {abs(margin):.2f} {UNIT} {side} the minimum {found.minimum:g}√t."


def _unjudged(found: Findings) -> Iterator[str]:
    many = int((~found.later.known).sum())
    if many:
        yield (
            f"{many} of {len(found.later.known)} coupons since were not held against the limits: "
            "the stable period has too little of their stack or setting."
        )
