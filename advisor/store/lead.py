"""What the lead reads, put together from the log: rates, drift, the summary of a week.

The readings themselves are made in the review rooms; here they get their coupons.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from advisor import units
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.matching import Condition
from advisor.coupons.purpose import Purpose
from advisor.coupons.release import Evidence
from advisor.coupons.verdict import Outcome
from advisor.language import msg, say, say_number
from advisor.record.week import (
    CauseLine,
    CouponCounts,
    DressingLine,
    DriftLine,
    ExpiringLine,
    MissingLine,
    RateLine,
    ReleaseLine,
    VoidLine,
    WeekPrinting,
    WeekSummary,
)
from advisor.review.dressing import Due, due
from advisor.review.drift import DriftReading, read_drift
from advisor.review.foretold import honesty_of_sums
from advisor.review.intervals import Method
from advisor.review.pareto import pareto
from advisor.review.standing import Reading, Standing, read_groups
from advisor.store.auditing import Released, Waiting, expiring
from advisor.store.log import Log
from advisor.store.predictions import Event
from advisor.store.reviewing import Group, Which
from advisor.weld.electrode import Electrode
from advisor.weld.setting import Setting

#: How far back rates are read beside those of a week, so that there are enough of them. Choice of
#: this project.
RATES_BACK = timedelta(days=90)
#: Groups whose members nothing but their coupons tells apart, so that each leans on the others.
ALIKE: frozenset[Group] = frozenset({"welder", "machine"})
_GROUPS: dict[Group, str] = {
    "welder": msg("Welder"),
    "machine": msg("Machine"),
    "adhesive_state": msg("Adhesive"),
    "family": msg("Stack family"),
}
_HONESTY: dict[Event, str] = {
    "sound": msg("A sound weld: {honesty}"),
    "expulsion": msg("Expulsion: {honesty}"),
}


@dataclass(frozen=True)
class MachineDrift:
    """The drift of one machine with one electrode.

    Parameters
    ----------
    machine : str
        The machine.
    electrode : Electrode
        Its caps.
    reading : DriftReading
        What its coupons say.
    """

    machine: str
    electrode: Electrode
    reading: DriftReading


def rates(
    log: Log, group: Group, which: Which, target: float, method: Method = "wilson"
) -> list[Reading]:
    """Return the pass rates of a group against the target; parameters as for `read_groups`."""
    return read_groups(log.pass_counts(group, which), target, method, pool=group in ALIKE)


def drift_of(
    log: Log,
    machine_name: str,
    electrode: Electrode | None = None,
    *,
    like_for_like: bool = True,
) -> MachineDrift | None:
    """Return the drift of a machine with an electrode; None where no caps were ever noted.

    Parameters
    ----------
    log : Log
        The log.
    machine_name : str
        The machine.
    electrode : Electrode, optional
        One of `Log.electrodes`; the one fitted now when left out.
    like_for_like : bool
        Whether to take out what stack and setting explain.
    """
    had = log.electrodes(machine_name)
    if not had:
        return None
    caps = electrode or had[0]
    stable, later = log.drift_coupons(machine_name, caps)
    reading = read_drift(stable, later, log.rules().judging, like_for_like)
    return MachineDrift(machine_name, caps, reading)


def all_drift(log: Log) -> list[MachineDrift]:
    """Return the drift of every machine with the electrode it has now.

    It stays the same as long as `Log.drift_seal` does and no machine is added.
    """
    found = (drift_of(log, machine.name) for machine in log.machines())
    return [each for each in found if each is not None]


def dressing(log: Log, drifts: list[MachineDrift]) -> dict[str, Due]:
    """Return for each machine whether its caps are due for dressing."""
    learned = {each.machine: each.reading.wear.dressing_interval for each in drifts}
    limit = log.rules().dress_after_welds
    return {
        caps.machine: due(caps.welds, caps.counted, limit, learned.get(caps.machine))
        for caps in log.caps()
    }


def week_summary(
    log: Log,
    printing: WeekPrinting,
    since: date,
    until: date,
    target: float,
    drifts: list[MachineDrift] | None = None,
) -> WeekSummary:
    """Return the summary of a week, or of any period up to a quarter.

    Parameters
    ----------
    log : Log
        The log.
    printing : WeekPrinting
        Whose summary it is, who makes it and when.
    since, until : date
        First day, and the day after the last (UTC).
    target : float
        Share of coupons that should pass.
    drifts : list of MachineDrift, optional
        Drift of all machines where it is known already.
    """
    first, end = (datetime.combine(day, time(), UTC) for day in (since, until))
    week = Which(since, until)
    waiting = log.waiting(printing.at)
    drifts = all_drift(log) if drifts is None else drifts
    voided = log.voided_between(first, end)
    return WeekSummary(
        printing,
        since,
        until,
        target,
        say("95 % interval, Wilson"),
        counts=_counts(log, week),
        rates=tuple(_rates(log, since, until, target)),
        failures=tuple(_causes(log, week)),
        drift=tuple(_drift_line(each) for each in drifts),
        releases=tuple(map(_release_line, log.releases_between(first, end, printing.at))),
        voided=tuple(VoidLine(v.number, v.at, v.by, v.why, v.releases) for v in voided),
        missing=tuple(_missing(waiting)),
        expiring=tuple(_expiring(waiting, printing.at)),
        dressing=tuple(
            DressingLine(name, each.welds, each.limit, each.words, each.is_overdue)
            for name, each in dressing(log, drifts).items()
        ),
        honesty=tuple(honest_words(log)),
        seal=log.last_seal(),
    )


def honest_words(log: Log, machine_name: str | None = None) -> Iterator[str]:
    """Say how what the advisor foretold compares with what happened, where it foretold anything."""
    for event, sentence in _HONESTY.items():
        sums = log.foretold_sums(event, machine_name)
        if sums.count:
            honesty = honesty_of_sums(sums, hoped_for=event == "sound")
            yield say(sentence, honesty=honesty.words())


def _counts(log: Log, week: Which) -> CouponCounts:
    table = log.pass_counts("purpose", week)
    passed, failed, still_open = (int(table[name].sum()) for name in ("passed", "failed", "open"))
    return CouponCounts(passed, failed, still_open)


def _rates(log: Log, since: date, until: date, target: float) -> Iterator[RateLine]:
    """Read welders and machines over a quarter, and all groups over the week."""
    back = min(since, until - RATES_BACK)
    long = Which(back, until, purpose=Purpose.RELEASE)
    days = say("release coupons since {day}", day=back)
    for group in sorted(ALIKE, reverse=True):
        yield from _rate_lines(log, group, long, target, days)
    whole = say("all coupons of the period")
    for group in _GROUPS:
        yield from _rate_lines(log, group, Which(since, until), target, whole)


def _rate_lines(
    log: Log, group: Group, which: Which, target: float, purpose: str
) -> Iterator[RateLine]:
    for each in rates(log, group, which, target):
        pooled = each.pooled
        yield RateLine(
            say(_GROUPS[group]),
            each.name,
            purpose,
            each.passed,
            each.failed,
            each.open,
            each.raw.rate,
            each.raw.low,
            each.raw.high,
            pooled.rate if pooled else None,
            pooled.low if pooled else None,
            pooled.high if pooled else None,
            each.standing.label,
            each.standing is Standing.BELOW,
        )


def _causes(log: Log, week: Which) -> Iterator[CauseLine]:
    found = log.failures(week)
    table = pareto(found.causes, found.failed)
    for cause, count in zip(table["cause"], table["count"], strict=True):
        yield CauseLine(str(cause), int(count), int(count) / found.failed)


def _drift_line(each: MachineDrift) -> DriftLine:
    reading = each.reading
    said = (*reading.sentences, *reading.signal_texts)
    return DriftLine(
        each.machine, each.electrode.title(), reading.headline, said, reading.is_drifting
    )


def _release_line(each: Released) -> ReleaseLine:
    joint, release = each.joint, each.release
    return ReleaseLine(
        joint.job,
        joint.name,
        joint.machine,
        setting_words(release.setting),
        release.by,
        release.at,
        numbered(release.evidence),
        each.stands,
        each.reopened,
        each.followed_by,
    )


def numbered(coupons: Iterable[Evidence | LoggedCoupon]) -> tuple[str, ...]:
    """Return each coupon as its number and revision."""
    return tuple(
        say("#{number} rev {revision}", number=each.number, revision=each.revision)
        for each in coupons
    )


def setting_words(setting: Setting) -> str:
    """Return current, weld time and force of a setting in one line, in kA, ms and kN."""
    return ", ".join(
        (
            units.show("current", setting.current_kA),
            units.show("time", setting.weld_ms),
            units.show("force", setting.force_kN),
        )
    )


def lacking_words(coverage: Coverage) -> str:
    """Return in a few words what a joint without coverage lacks, and what to do."""
    wanted, have = coverage.wanted, coverage.passes
    if coverage.state is CoverState.EXPIRED:
        return say_number(
            "expired: weld {number} new one", "expired: weld {number} new ones", wanted
        )
    if coverage.state is CoverState.FAILED:
        return say_number(
            "the newest one failed: change the setting, then {number} pass",
            "the newest one failed: change the setting, then {number} passes in a row",
            wanted,
        )
    if not have and _waits_for_its_test(coverage):
        return say("the newest one is not judged: write down its test")
    if {each.condition for each in coverage.differences} == {Condition.JOB}:
        return say("passed only for another job: weld {wanted} for this one", wanted=wanted)
    return say(
        _SOME_PASS if have else _NONE_PASSES,
        passes=have,
        wanted=wanted,
        more=wanted - have,
    )


_SOME_PASS = msg("{passes} of {wanted} passes, weld {more} more")
_NONE_PASSES = msg("{passes} of {wanted} passes, weld {more}")


def _waits_for_its_test(coverage: Coverage) -> bool:
    """Return whether the nearest coupon lacks nothing but its verdict."""
    nearest, lacks = coverage.nearest, {each.condition for each in coverage.differences}
    if nearest is None or lacks != {Condition.VERDICT}:
        return False
    return nearest.verdict.outcome is Outcome.OPEN


def _missing(waiting: list[Waiting]) -> Iterator[MissingLine]:
    for each in in_order(waiting):
        coverage, joint = each.coverage, each.stored.joint
        if each.lacks_coupons:
            yield MissingLine(
                joint.job,
                joint.name,
                coverage.state.label,
                coverage.headline,
                coverage.detail,
                lacking_words(coverage),
            )


def in_order(waiting: Iterable[Waiting]) -> list[Waiting]:
    """Return joints job by job, those of a job by name."""
    return sorted(waiting, key=lambda each: (each.stored.joint.job, each.stored.joint.name))


def _expiring(waiting: list[Waiting], now: datetime) -> Iterator[ExpiringLine]:
    for each in expiring(waiting, now):
        joint, coverage = each.stored.joint, each.coverage
        if each.ends_at is not None:
            coupons = numbered(coverage.evidence)
            yield ExpiringLine(joint.job, joint.name, each.ends_at, coupons)
