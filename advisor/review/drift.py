"""Has a machine, or its electrodes, drifted? The one door to the charts, from the coupons.

The stable period sets centre, scatter and limits. Coupons welded later are held against them, like
for like, and what is found is said in words. The weighted average alone decides whether the machine
is drifting; the other rules point at coupons to look at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import JudgingRules
from advisor.language import say
from advisor.review.baseline import Baseline, Held
from advisor.review.control_charts import (
    RANGE_PER_SD,
    Rule,
    Signal,
    ewma,
    find_signals,
    limits_around,
)
from advisor.review.coupon_frame import frame_of
from advisor.review.drift_words import Caps, Findings, headline, sentences, too_few
from advisor.review.wear import Estimate, Line, WearReading

__all__ = ["FEWEST_STABLE", "DriftLimits", "DriftReading", "frame_of", "read_drift"]

#: Fewest stable coupons with a size that limits are made from (common practice, no source).
FEWEST_STABLE = 12
#: Fewest coupons, and shortest time between them, for a slope over time. Choice of this project:
#: fewer give an interval that says nothing. [coupons], [weeks]
FEWEST_FOR_SLOPE, SHORTEST_WEEKS = 8, 1.0
_LEVEL = 0.95
_WEEK_NS = 7 * 86_400 * 1e9
_COLUMNS = ("adjusted", "ewma", "lower", "upper", "ewma_lower", "ewma_upper")

Direction = Literal["", "smaller", "larger"]


@dataclass(frozen=True)
class DriftLimits:
    """What coupons are held against, in mm per root mm.

    Parameters
    ----------
    centre, sd : float
        Mean of the stable period and scatter of coupons welded alike.
    df : float
        Degrees of freedom behind `sd`.
    lower, upper : float
        Limits of a single coupon like those of the stable period; each point has its own.
    average_lower, average_upper : float
        Limits of the weighted average, likewise.
    mean_range, largest_range : float
        Mean range from one coupon to the next, and the largest that is chance.
    minimum : float
        Smallest value that passes, k.
    """

    centre: float
    sd: float
    df: float
    lower: float
    upper: float
    average_lower: float
    average_upper: float
    mean_range: float
    largest_range: float
    minimum: float


@dataclass(frozen=True, eq=False)
class DriftReading:
    """What the coupons of one machine say about drift.

    It may be kept for everybody: whatever it says, it says in the language of whoever asks.

    Parameters
    ----------
    table : DataFrame of shape (n_coupons, 15)
        As `points`, with the rules themselves under ``signal``.
    have : int
        Stable coupons with a size.
    found : Findings or None
        What the sentences are made from; None with too few stable coupons.
    limits : DriftLimits or None
        None with too few stable coupons, and then nothing below says anything.
    signals : tuple of Signal
        Of the later coupons; positions are rows of `points`.
    is_drifting : bool
        Whether the newest weighted average is beyond its limit.
    direction : {'smaller', 'larger', ''}
        Which way, when drifting.
    change : Estimate or None
        Weighted average of the later coupons now, less the centre. [mm per root mm]
    slope_per_week : Estimate or None
        Of the later coupons; None with fewer than 8 or within a week. [mm per root mm]
    margin : float or None
        Weighted average now less the minimum. [mm per root mm]
    """

    table: pd.DataFrame
    have: int
    found: Findings | None = None
    limits: DriftLimits | None = None
    signals: tuple[Signal, ...] = ()
    is_drifting: bool = False
    direction: Direction = ""
    change: Estimate | None = None
    slope_per_week: Estimate | None = None
    margin: float | None = None

    @property
    def points(self) -> pd.DataFrame:
        """Stable coupons, then later ones, each oldest first; shape (n_coupons, 15).

        ``number``, ``made_at``, ``day``, ``value``, ``adjusted``, ``ewma``, ``lower``, ``upper``,
        ``ewma_lower``, ``ewma_upper`` [mm per root mm], ``phase``, ``signal`` in words, ``known``,
        ``welds`` since dressing, ``range`` from the coupon before [mm per root mm].
        """
        words = ["; ".join(rule.label for rule in rules) for rules in self.table["signal"]]
        return self.table.assign(signal=words)

    @property
    def wear(self) -> WearReading:
        """Size against welds since dressing, on the newest electrode."""
        if self.found is None:
            return WearReading(0, refusal=say("Wear: nothing is said before there are limits."))
        return self.found.wear

    @property
    def headline(self) -> str:
        """The reading in one line."""
        return too_few(self.have, FEWEST_STABLE) if self.found is None else headline(self.found)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reading in words, without headline and signals."""
        return () if self.found is None else sentences(self.found)

    @property
    def signal_texts(self) -> tuple[str, ...]:
        """The signals in words, with number and day of each coupon."""
        if self.found is None:
            return ()
        return tuple(signal.words(self.found.name) for signal in self.found.signals)


def read_drift(
    stable: Sequence[LoggedCoupon],
    later: Sequence[LoggedCoupon],
    rules: JudgingRules,
    like_for_like: bool = True,
) -> DriftReading:
    """Hold a machine's later coupons against its stable period.

    Parameters
    ----------
    stable : sequence of LoggedCoupon
        Coupons of a period in which the machine was well, about 25.
    later : sequence of LoggedCoupon
        Coupons welded since; one that is in `stable` too counts there.
    rules : JudgingRules
        The shop's rules.
    like_for_like : bool
        Whether to take out what stack and setting explain.

    Returns
    -------
    DriftReading
        With fewer than 12 stable coupons that have a size, a reading that says how many are
        missing, without limits.
    """
    before = frame_of(stable, rules)
    numbers = set(before["number"])
    after = frame_of([c for c in later if c.number not in numbers], rules)
    have = int(before["value"].notna().sum())
    if have < FEWEST_STABLE:
        return _too_few(before, after, have)
    baseline = Baseline.of(before, like_for_like)
    held = baseline.hold(before, is_stable=True), baseline.hold(after)
    return _reading(baseline, *held, rules.size.k)


def _too_few(before: pd.DataFrame, after: pd.DataFrame, have: int) -> DriftReading:
    points = [
        frame.reindex(columns=["number", "made_at", "day", "value"]).assign(
            **dict.fromkeys((*_COLUMNS, "welds", "range"), np.nan),
            phase=phase,
            signal=pd.Series([()] * len(frame), dtype=object),
            known=False,
        )
        for frame, phase in ((before, "stable"), (after, "later"))
    ]
    joined = pd.concat([p for p in points if len(p)] or points[:1], ignore_index=True)
    return DriftReading(joined, have)


def _limits(baseline: Baseline, minimum: float) -> DriftLimits:
    """Return the limits of a coupon like those of the stable period."""
    centre, sd, df = baseline.centre, baseline.sd, baseline.df
    alike = float(baseline.variance[0, 0])
    single = limits_around(centre, sd, alike, df)
    average = ewma([centre], centre, sd, doubt=alike, df=df)
    return DriftLimits(
        centre,
        sd,
        df,
        float(single.lower),
        float(single.upper),
        float(average.lower[0]),
        float(average.upper[0]),
        RANGE_PER_SD * sd,
        single.largest_range,
        minimum,
    )


def _reading(baseline: Baseline, stable: Held, later: Held, minimum: float) -> DriftReading:
    found = _signals(later)
    side = _side(later)
    direction: Direction = ("", "larger", "smaller")[side]
    change = _change(later, baseline.df)
    slope = _slope_per_week(later)
    margin = None if change is None else baseline.centre + change.value - minimum
    caps = _caps(stable, later, minimum)
    findings = Findings(
        baseline, stable, later, minimum, direction, found, change, slope, margin, caps
    )
    points = [_points(stable, "stable", ())]
    if len(later.frame):
        points.append(_points(later, "later", found))
    before = len(stable.frame)
    joined = pd.concat(points, ignore_index=True)
    return DriftReading(
        joined.assign(range=joined["adjusted"].diff().abs()),
        int(stable.frame["value"].notna().sum()),
        findings,
        _limits(baseline, minimum),
        tuple(Signal(s.rule, s.first + before, s.last + before, s.side) for s in found),
        side != 0,
        direction,
        change,
        slope,
        margin,
    )


def _signals(held: Held) -> tuple[Signal, ...]:
    if not len(held.frame):
        return ()
    none = held.frame["no_button"].to_numpy(dtype=bool)
    return find_signals(held.judged, held.limits, held.average, none)


def _side(later: Held) -> int:
    """Return -1, 0 or 1: where the newest weighted average is."""
    average = later.average
    if not len(average.averages):
        return 0
    newest = average.averages[-1]
    return int(newest > average.upper[-1]) - int(newest < average.lower[-1])


def _change(later: Held, df: float) -> Estimate | None:
    if np.isnan(later.change):
        return None
    half = float(stdtrit(df, (1 + _LEVEL) / 2)) * later.change_sd
    return Estimate(later.change, later.change - half, later.change + half)


def _slope_per_week(later: Held) -> Estimate | None:
    there = ~np.isnan(later.judged)
    made_at = later.frame["made_at"].to_numpy(dtype="datetime64[ns]")[there]
    weeks = (made_at - made_at[:1]).astype(float) / _WEEK_NS
    if len(weeks) < FEWEST_FOR_SLOPE or np.ptp(weeks) < SHORTEST_WEEKS:
        return None
    return Line.through(weeks, later.judged[there]).slope_estimate(_LEVEL)


def _caps(stable: Held, later: Held, minimum: float) -> Caps:
    held = [phase for phase in (stable, later) if len(phase.frame)]
    electrode = np.concatenate([h.frame["electrode"].to_numpy(dtype=object) for h in held])
    welds = np.concatenate([h.frame["welds_since_dressing"].to_numpy(dtype=float) for h in held])
    values = np.concatenate([h.judged for h in held])
    same = electrode == electrode[-1]
    return Caps(welds[same], values[same], minimum)


def _points(held: Held, phase: str, signals: tuple[Signal, ...]) -> pd.DataFrame:
    rules: list[tuple[Rule, ...]] = [()] * len(held.frame)
    for signal in signals:
        for position in range(signal.first, signal.last + 1):
            rules[position] += (signal.rule,)
    columns = held.frame.loc[:, ["number", "made_at", "day", "value"]].to_dict("series")
    limits, average = held.limits, held.average
    return pd.DataFrame(
        {
            **columns,
            "adjusted": held.values,
            "ewma": average.averages,
            "lower": np.where(held.known, limits.lower, np.nan),
            "upper": np.where(held.known, limits.upper, np.nan),
            "ewma_lower": average.lower,
            "ewma_upper": average.upper,
            "phase": phase,
            "signal": rules,
            "known": held.known,
            "welds": held.frame["welds_since_dressing"].to_numpy(dtype=float),
        }
    )
