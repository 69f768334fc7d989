"""What the summary of a week holds: plain lines, put together elsewhere, and what stands out."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, timedelta
from typing import NamedTuple

from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.record.job_record import Printing
from advisor.record.week_lines import (
    NO_COUPONS,
    CauseLine,
    CouponCounts,
    DressingLine,
    DriftLine,
    ExpiringLine,
    MissingLine,
    RateLine,
    ReleaseLine,
    VoidLine,
    check_share,
)

__all__ = [
    "LONGEST_DAYS",
    "NO_COUPONS",
    "SECTIONS",
    "Attention",
    "CauseLine",
    "CouponCounts",
    "DressingLine",
    "DriftLine",
    "ExpiringLine",
    "MissingLine",
    "RateLine",
    "ReleaseLine",
    "Section",
    "VoidLine",
    "WeekPrinting",
    "WeekSummary",
    "attention",
    "percent",
    "target_words",
    "week_of",
]

#: Longest period of one summary, a quarter with its odd days. Choice of this project. [days]
LONGEST_DAYS = 92


class Section(NamedTuple):
    """A part of the summary: its title, and what it says when it is empty, both for `say`."""

    title: str
    nothing: str


#: Parts by their field in `WeekSummary`, in the order of print and CSV.
SECTIONS = {
    "rates": Section(msg("Pass rates"), msg("No coupon was judged in this period.")),
    "failures": Section(
        msg("Causes of failure"), msg("No cause of a failure is written down for this period.")
    ),
    "drift": Section(
        msg("Drift of machines"), msg("No machine was read for drift in this period.")
    ),
    "releases": Section(msg("Releases"), msg("No joint was released in this period.")),
    "voided": Section(msg("Voided coupons"), msg("No coupon was voided in this period.")),
    "missing": Section(msg("Joints without their coupons"), msg("No joint lacks its coupons.")),
    "expiring": Section(msg("Coupons that expire soon"), msg("No joint's coupons expire soon.")),
    "dressing": Section(
        msg("Dressing of the caps"),
        msg("No machine has a count of welds since its caps were dressed."),
    ),
    "honesty": Section(
        msg("What the advisor foretold"),
        msg("Nothing was foretold for the coupons of this period."),
    ),
}


@dataclass(frozen=True)
class WeekPrinting(Printing):
    """Whose summary it is, and when it was made: as for a job, without the job."""

    job: str = field(init=False, default="")

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise InputError(say("the time of a summary needs its time zone"))


@dataclass(frozen=True)
class WeekSummary:
    """All of a week, or of any period up to `LONGEST_DAYS`; every group may be empty.

    Parameters
    ----------
    printing : WeekPrinting
        Whose, when and by whom.
    since, until : date
        First day, and the day after the last; days begin at midnight UTC. See `week_of`.
    target : float
        Pass rate that the shop wants, 0 to 1.
    interval : str
        Name of the intervals, such as ``95 % interval, Wilson``.
    counts : CouponCounts
        Coupons welded in the period.
    rates, failures, drift, releases, voided, missing, expiring, dressing : tuple
        Lines of the parts.
    honesty : tuple of str
        Sentences on what the advisor foretold.
    seal : str
        Seal of the newest revision in the log, see `wording.log_seal_words`.
    """

    printing: WeekPrinting
    since: date
    until: date
    target: float
    interval: str
    counts: CouponCounts = field(default_factory=CouponCounts)
    rates: tuple[RateLine, ...] = ()
    failures: tuple[CauseLine, ...] = ()
    drift: tuple[DriftLine, ...] = ()
    releases: tuple[ReleaseLine, ...] = ()
    voided: tuple[VoidLine, ...] = ()
    missing: tuple[MissingLine, ...] = ()
    expiring: tuple[ExpiringLine, ...] = ()
    dressing: tuple[DressingLine, ...] = ()
    honesty: tuple[str, ...] = ()
    seal: str = ""

    def __post_init__(self) -> None:
        if not 1 <= self.days <= LONGEST_DAYS:
            raise InputError(
                say(
                    "the period from {since} to before {until} has {days} days; a summary holds 1 "
                    "to {most}",
                    since=self.since,
                    until=self.until,
                    days=self.days,
                    most=LONGEST_DAYS,
                )
            )
        check_share(say("the target"), self.target)
        moments = [e.at for e in self.releases] + [e.at for e in self.voided]
        moments += [e.expires_at for e in self.expiring]
        if any(each.tzinfo is None for each in moments):
            raise InputError(say("a time in the summary has no time zone; every one needs it"))

    @property
    def days(self) -> int:
        """Length of the period. [days]."""
        return (self.until - self.since).days

    @property
    def is_week(self) -> bool:
        """Whether it is a week from Monday to Sunday."""
        return (self.since, self.until) == week_of(self.since)

    @property
    def is_over(self) -> bool:
        """Whether the period was over when the summary was made."""
        return self.printing.at.astimezone(UTC).date() >= self.until

    @property
    def last_day(self) -> date:
        """Last day of the period."""
        return self.until - timedelta(days=1)


def week_of(day: date) -> tuple[date, date]:
    """Return the week of a day: its Monday, and the Monday after."""
    monday = day - timedelta(days=day.weekday())
    return monday, monday + timedelta(days=7)


class Attention(NamedTuple):
    """One thing that needs attention: of what kind, what, why, and in which part it stands.

    The kind is a message for `say`, so that it can be sorted by whatever language is spoken. `job`
    is the job where something is to be done about it, empty where it is about none.
    """

    kind: str
    what: str
    why: str
    section: str
    job: str = ""


def attention(summary: WeekSummary) -> tuple[Attention, ...]:
    """Return what is evident and needs attention, kind by kind; doubtful cases are left out.

    What was released and is open again comes first, because a vehicle may be welded or delivered
    on it. A voided coupon and a missing test of the same joint are told there, and not again.
    """
    return tuple(_attention(summary))


def percent(share: float) -> str:
    """Write a share as a percentage with one decimal."""
    return f"{figure(100 * share, '.1f')} %"


def target_words(share: float) -> str:
    """Write a share that somebody has set as a percentage, with decimals only where it has any."""
    return f"{figure(100 * share, 'g')} %"


def _attention(summary: WeekSummary) -> Iterator[Attention]:
    again = [each for each in summary.releases if not each.stands and not each.followed_by]
    told = {_joint(each) for each in again}
    missing = [each for each in summary.missing if each.is_bonded]
    yield from _open_again(again, {_joint(each): each for each in missing})
    yield from _voided(summary, told)
    yield from _by_numbers(summary)
    for caps in summary.dressing:
        if caps.overdue:
            yield Attention(msg("Dressing overdue"), caps.machine, caps.words, "dressing")
    for joint in missing:
        if _joint(joint) not in told:
            kind, what = msg("Bonded-joint test missing"), f"{joint.job}, {joint.joint}"
            yield Attention(kind, what, joint.lacking, "missing", joint.job)


def _by_numbers(summary: WeekSummary) -> Iterator[Attention]:
    for line in summary.drift:
        if line.is_drifting:
            yield Attention(msg("Drifting"), line.name, line.headline, "drift")
    for rate in summary.rates:
        if rate.is_below:
            what = f"{rate.group} {rate.name}" + (f", {rate.purpose}" if rate.purpose else "")
            yield Attention(msg("Below target"), what, _below(rate, summary), "rates")


def _joint(line: ReleaseLine | MissingLine) -> str:
    """Return a joint as releases on a voided coupon are named."""
    return f"{line.job} · {line.joint}"


def _open_again(
    again: Iterable[ReleaseLine], missing: Mapping[str, MissingLine]
) -> Iterator[Attention]:
    for each in again:
        lacks = missing.get(_joint(each))
        why = "; ".join((*each.reopened, *([lacks.lacking] if lacks else [])))
        what = f"{each.job}, {each.joint}"
        yield Attention(msg("Release open again"), what, why, "releases", each.job)


def _voided(summary: WeekSummary, told: Container[str]) -> Iterator[Attention]:
    for void in summary.voided:
        untold = [each for each in void.used_in_release if each not in told]
        if untold:
            why = say("voided, but released on it: {releases}", releases="; ".join(untold))
            what = say("Coupon #{number}", number=void.number)
            yield Attention(msg("Evidence voided"), what, why, "voided")


def _below(rate: RateLine, summary: WeekSummary) -> str:
    # The figure of its upper end is left to the table: rounded, it might read as the target.
    return say(
        "{passed} of {judged} passed; all of its interval is below {target}",
        passed=rate.passed,
        judged=rate.judged,
        target=target_words(summary.target),
    )
