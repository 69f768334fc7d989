"""What a reading of drift says, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from advisor.language import msg, say, say_number
from advisor.review.baseline import Baseline, Held
from advisor.review.control_charts import Rule, Signal
from advisor.review.wear import Estimate, Floats, WearReading, forecast

#: Degrees of freedom below which the stable period is called too mixed. Choice of this project:
#: below it Student's t widens limits by about a fifth.
FEW_DF = 8.0
_DRIFTING = {
    "smaller": msg(
        "Drifting: welds are smaller than in the stable period; the weighted average is below its "
        "lower limit since {coupon}."
    ),
    "larger": msg(
        "Drifting: welds are larger than in the stable period; the weighted average is above its "
        "upper limit since {coupon}."
    ),
}
#: What to look at first where a machine drifts, the nearest at hand before the rest: common
#: practice, no source.
_LOOK_FIRST = msg(
    "Look first: worn or mushroomed caps are dressed or changed; then measure the force with a "
    "gauge, and with the machine switched off feel whether cables and their joints have become hot "
    "(common practice, no source)."
)
_WHILE_DRIFTING = msg(
    "Wear: no count of welds is vouched for while this machine drifts; the cause comes first."
)
_HELD_AGAINST = msg(
    "Held against {count} stable coupons ({first} to {last}): centre {centre:.2f}, scatter "
    "{scatter:.2f} mm/√mm."
)
_HELD_LIKE_FOR_LIKE = msg(
    "Held against {count} stable coupons ({first} to {last}), like for like in stack and setting: "
    "centre {centre:.2f}, scatter {scatter:.2f} mm/√mm."
)
#: By whether it is smaller, and whether it could as well be the other way: then each end of the
#: interval says its own way.
_AVERAGE_NOW = {
    (True, False): msg(
        "The weighted average now is {change:.2f} mm/√mm smaller than in the stable period (95 % "
        "interval {low:.2f} to {high:.2f})."
    ),
    (False, False): msg(
        "The weighted average now is {change:.2f} mm/√mm larger than in the stable period (95 % "
        "interval {low:.2f} to {high:.2f})."
    ),
    (True, True): msg(
        "The weighted average now is {change:.2f} mm/√mm smaller than in the stable period (95 % "
        "interval {low:.2f} larger to {high:.2f} smaller)."
    ),
    (False, True): msg(
        "The weighted average now is {change:.2f} mm/√mm larger than in the stable period (95 % "
        "interval {low:.2f} smaller to {high:.2f} larger)."
    ),
}
_SLOPE = {
    (True, False): msg(
        "Each week since made it {slope:.3f} mm/√mm smaller (95 % interval {low:.3f} to "
        "{high:.3f})."
    ),
    (False, False): msg(
        "Each week since made it {slope:.3f} mm/√mm larger (95 % interval {low:.3f} to {high:.3f})."
    ),
    (True, True): msg(
        "Each week since made it {slope:.3f} mm/√mm smaller (95 % interval {low:.3f} larger to "
        "{high:.3f} smaller)."
    ),
    (False, True): msg(
        "Each week since made it {slope:.3f} mm/√mm larger (95 % interval {low:.3f} smaller to "
        "{high:.3f} larger)."
    ),
}
_TO_MINIMUM = {
    True: msg("It is {margin:.2f} mm/√mm below the minimum {minimum:g}√t."),
    False: msg("It is {margin:.2f} mm/√mm above the minimum {minimum:g}√t."),
}


@dataclass(frozen=True, eq=False)
class Caps:
    """What wear is read from: coupons on the newest caps, and the minimum of their value.

    The reading holds sentences, so it is made anew whenever somebody asks for it.
    """

    welds: Floats
    values: Floats
    minimum: float

    @property
    def wear(self) -> WearReading:
        """Size against welds since dressing."""
        return forecast(self.welds, self.values, self.minimum)


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
    caps: Caps

    @property
    def wear(self) -> WearReading:
        """Size against welds since dressing; nothing while the machine drifts.

        Coupons from before the drift would vouch for welds that are made now.
        """
        found = self.caps.wear
        if not self.direction or found.refusal:
            return found
        return WearReading(found.coupons, refusal=say(_WHILE_DRIFTING))

    def name(self, position: int) -> str:
        """Return number and day of a later coupon."""
        frame = self.later.frame
        number, day = frame["number"].iloc[position], frame["day"].iloc[position]
        return say("coupon #{number} ({day})", number=number, day=day)


def too_few(have: int, wanted: int) -> str:
    """Return the headline where the stable period is too short.

    Parameters
    ----------
    have, wanted : int
        Stable coupons with a measured size.
    """
    return say_number(
        "No limits yet: {number} more stable coupon with a measured size needed ({have} of "
        "{wanted}).",
        "No limits yet: {number} more stable coupons with a measured size needed ({have} of "
        "{wanted}).",
        wanted - have,
        have=have,
        wanted=wanted,
    )


def headline(found: Findings) -> str:
    """Return the reading in one line."""
    if not len(found.later.frame):
        return say(
            "Limits stand on {count} stable coupons; no coupon since.", count=_sized(found.stable)
        )
    if np.isnan(found.later.change):
        return say("No coupon since the stable period can be held against it.")
    if found.direction:
        since = [s for s in found.signals if s.rule is Rule.AVERAGE][-1]
        return say(_DRIFTING[found.direction], coupon=found.name(since.first))
    if found.signals:
        return say_number(
            "No drift now; {number} signal to look at.",
            "No drift now; {number} signals to look at.",
            len(found.signals),
        )
    return say(
        "No drift seen in {count} coupons since the stable period.", count=_sized(found.later)
    )


def sentences(found: Findings) -> tuple[str, ...]:
    """Return the reading in words, without headline and signals."""
    return (
        *((say(_LOOK_FIRST),) if found.direction else ()),
        *_size_now(found),
        *_basis(found),
        *_unjudged(found),
        *found.wear.sentences,
    )


def _sized(held: Held) -> int:
    return int((~np.isnan(held.judged)).sum())


def _basis(found: Findings) -> Iterator[str]:
    base, stable = found.baseline, found.stable
    days = stable.frame["day"]
    yield say(
        _HELD_AGAINST if base.model is None else _HELD_LIKE_FOR_LIKE,
        count=_sized(stable),
        first=days.iloc[0],
        last=days.iloc[-1],
        centre=base.centre,
        scatter=base.sd,
    )
    if base.df < FEW_DF:
        yield say(
            "The stable period holds too many unlike stacks for its number of coupons, so its "
            "limits are wide; weld more of the same ones."
        )
    judged = np.nan_to_num(stable.judged, nan=base.centre)
    outside = int(((judged < stable.limits.lower) | (judged > stable.limits.upper)).sum())
    if outside:
        yield say(
            "{count} of the stable coupons lie beyond the limits themselves; look whether the "
            "period was stable.",
            count=outside,
        )


def _size_now(found: Findings) -> Iterator[str]:
    change, slope, margin = found.change, found.slope_per_week, found.margin
    if change is None or margin is None:
        return
    yield _moved(_AVERAGE_NOW, change)
    if slope is not None:
        yield _moved(_SLOPE, slope)
    yield say(_TO_MINIMUM[margin < 0], margin=abs(margin), minimum=found.minimum)


def _moved(words: Mapping[tuple[bool, bool], str], moved: Estimate) -> str:
    """Say a difference without a sign: how much, and which way."""
    is_smaller = moved.value < 0
    ends = (-moved.high, -moved.low) if is_smaller else (moved.low, moved.high)
    size, message = abs(moved.value), words[is_smaller, ends[0] < 0]
    return say(message, change=size, slope=size, low=abs(ends[0]), high=abs(ends[1]))


def _unjudged(found: Findings) -> Iterator[str]:
    many = int((~found.later.known).sum())
    if many:
        yield say(
            "{count} of {all} coupons since were not held against the limits: the stable period "
            "has too little of their stack or setting.",
            count=many,
            all=len(found.later.known),
        )
