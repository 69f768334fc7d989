"""The adhesive clock: what state an adhesive is in, from the time since mixing and temperatures.

Cure runs faster when warm and slower when cold. The clock believes that only to the safe side:
warmth shortens the work time and cold never lengthens it; cold lengthens clamp and cure time and
warmth never shortens them. Between two readings the worse temperature of the two holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from advisor.bonding.adhesive import Adhesive
from advisor.errors import InputError
from advisor.language import say
from advisor.weld.stack import AdhesiveState

#: Cure rate doubles for each 10 °C (common practice, no source).
DOUBLING_DEGC = 10.0
#: Panels that a clock is kept for. Choice of this project: what is colder or warmer is a slip or
#: another unit.
COLDEST_DEGC, WARMEST_DEGC = -20.0, 60.0


def doubling_rate(degC: float, label_degC: float) -> float:
    """Return how many times faster than at the label's temperature an adhesive cures.

    Parameters
    ----------
    degC, label_degC : float
        Panel temperature, and the temperature of the label's times. [degC]

    Returns
    -------
    float
        Rate ratio: doubles for each 10 °C (common practice, no source).
    """
    return float(2.0 ** ((degC - label_degC) / DOUBLING_DEGC))


@dataclass(frozen=True)
class Reading:
    """A panel temperature.

    Parameters
    ----------
    at : datetime
        When it was read, with its time zone.
    degC : float
        Panel temperature, -20 to 60. [degC]
    """

    at: datetime
    degC: float

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise InputError(say("the time of a temperature reading needs its time zone"))
        if not COLDEST_DEGC <= self.degC <= WARMEST_DEGC:
            raise InputError(
                say(
                    "panel temperature is {temperature:g} °C; it must be {low:g} to {high:g} °C "
                    "(if that was °F, 70 °F is 21 °C)",
                    temperature=self.degC,
                    low=COLDEST_DEGC,
                    high=WARMEST_DEGC,
                )
            )


@dataclass(frozen=True)
class ClockState:
    """What the clock says at one moment.

    Parameters
    ----------
    state : AdhesiveState
        Wet, part-cured or cured; the welder confirms it by touch.
    work_left_min : float
        Work time left at the newest temperature; 0 when it is over. [min]
    clamps_off_at : datetime
        When clamps may come off if nothing is welded; past when they may already.
    cured_at : datetime
        When the adhesive counts as fully cured; past when it already does.
    """

    state: AdhesiveState
    work_left_min: float
    clamps_off_at: datetime
    cured_at: datetime


def read_clock(
    adhesive: Adhesive, mixed_at: datetime, readings: Sequence[Reading], now: datetime
) -> ClockState:
    """Say in which state an adhesive is.

    Parameters
    ----------
    adhesive : Adhesive
        Label times: the short end of the work time and the long ends of clamp and cure time count.
    mixed_at : datetime
        Time of mixing, with its time zone.
    readings : sequence of Reading
        Panel temperatures, at least one; the first also holds back to the time of mixing.
    now : datetime
        Moment of asking, with its time zone.

    Returns
    -------
    ClockState
        State, work time left, and the two moments to wait for.

    Raises
    ------
    InputError
        No temperature, mixed in the future, or a time without its zone.
    """
    _check_asked(mixed_at, readings, now)
    # In UTC, so that a change of the clocks at night neither adds nor takes an hour.
    mixed_at, now = mixed_at.astimezone(UTC), now.astimezone(UTC)
    known = _known(readings, mixed_at, now)
    fast = _rate(adhesive, max, max)
    slow = _rate(adhesive, min, min)
    work_left = adhesive.work.low_min - _progress_min(mixed_at, known, now, fast)
    newest = known[-1].degC
    cured_left = adhesive.cure.high_min - _progress_min(mixed_at, known, now, slow)
    clamps_left = adhesive.clamp.high_min - _progress_min(mixed_at, known, now, slow)
    cured_at = _moment(now, cured_left, slow(newest, newest))
    if cured_left <= 0:
        state = AdhesiveState.CURED
    else:
        state = AdhesiveState.WET if work_left > 0 else AdhesiveState.PART_CURED
    return ClockState(
        state,
        max(0.0, work_left / fast(newest, newest)),
        _moment(now, clamps_left, slow(newest, newest)),
        cured_at,
    )


def _check_asked(mixed_at: datetime, readings: Sequence[Reading], now: datetime) -> None:
    if mixed_at.tzinfo is None or now.tzinfo is None:
        raise InputError(say("the time of mixing needs its time zone"))
    if not readings:
        raise InputError(
            say("no panel temperature was read; measure it and enter it with the mixing")
        )
    if mixed_at > now + timedelta(minutes=5):
        raise InputError(
            say(
                "mixed at {mixed:%Y-%m-%d %H:%M}, which is in the future (now {now:%Y-%m-%d "
                "%H:%M})",
                mixed=mixed_at,
                now=now,
            )
        )


def disagreement(adhesive_name: str, planned: AdhesiveState, clock: ClockState) -> str:
    """Say that a clock and the planned state of an adhesive differ; empty where they agree."""
    if planned is clock.state:
        return ""
    return say(
        "The clock of {adhesive} says {state}, the joint is planned {planned}: a coupon welded now "
        "is {state} and covers nothing else. Check by touch, then choose the joint that is true.",
        adhesive=adhesive_name,
        state=clock.state.label,
        planned=planned.label,
    )


def _known(readings: Sequence[Reading], mixed_at: datetime, now: datetime) -> list[Reading]:
    """Return what was read until now; where that is nothing, the first reading holds."""
    ordered = sorted(readings, key=lambda r: r.at)
    return [r for r in ordered if r.at <= now] or [Reading(mixed_at, ordered[0].degC)]


_Rate = Callable[[float, float], float]


def _rate(
    adhesive: Adhesive,
    worse: Callable[[float, float], float],
    no_better: Callable[[float, float], float],
) -> _Rate:
    """Return the rate between two readings: the worse one, and never better than the label."""

    def rate(first_degC: float, second_degC: float) -> float:
        return no_better(1.0, doubling_rate(worse(first_degC, second_degC), adhesive.label_degC))

    return rate


def _progress_min(
    mixed_at: datetime, readings: Sequence[Reading], now: datetime, rate: _Rate
) -> float:
    """Return the minutes at the label's temperature that have passed since mixing."""
    steps = [Reading(mixed_at, readings[0].degC)]
    for reading in readings:
        if reading.at <= mixed_at:
            steps = [Reading(mixed_at, reading.degC)]
        else:
            steps.append(reading)
    steps.append(Reading(max(now, mixed_at), steps[-1].degC))
    return sum(
        _minutes(second.at - first.at) * rate(first.degC, second.degC)
        for first, second in pairwise(steps)
    )


def _minutes(span: timedelta) -> float:
    return span.total_seconds() / 60


def _moment(now: datetime, left_min: float, rate: float) -> datetime:
    """Return when the minutes left at the label's temperature will have passed."""
    return now + timedelta(minutes=left_min / rate)
