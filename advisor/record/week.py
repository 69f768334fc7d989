"""What the summary of a week holds: plain lines, put together elsewhere, and what stands out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

from advisor.coupons.coverage import BONDED_MISSING
from advisor.errors import InputError
from advisor.record.job_record import Printing

#: Longest period of one summary, a quarter with its odd days. [days]
LONGEST_DAYS = 92
#: Release whose coupons are not named: its setting is not shown, since nothing proves it.
NO_COUPONS = "no setting shown: the release names no coupons that prove it"


class Section(NamedTuple):
    """A part of the summary: its title, and what it says when it is empty."""

    title: str
    nothing: str


#: Parts by their field in `WeekSummary`, in the order of print and CSV.
SECTIONS = {
    "rates": Section("Pass rates", "No coupon was judged in this period."),
    "failures": Section(
        "Causes of failure", "No cause of a failure is written down for this period."
    ),
    "drift": Section("Drift of machines", "No machine was read for drift in this period."),
    "releases": Section("Releases", "No joint was released in this period."),
    "voided": Section("Voided coupons", "No coupon was voided in this period."),
    "missing": Section("Joints without their coupons", "No joint lacks its coupons."),
    "expiring": Section("Coupons that expire soon", "No joint's coupons expire soon."),
    "dressing": Section(
        "Dressing of the caps", "No machine has a count of welds since its caps were dressed."
    ),
    "honesty": Section(
        "What the advisor foretold", "Nothing was foretold for the coupons of this period."
    ),
}


@dataclass(frozen=True)
class WeekPrinting(Printing):
    """Whose summary it is, and when it was made: as for a job, without the job."""

    job: str = field(init=False, default="")

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise InputError("the time of a summary needs its time zone")


@dataclass(frozen=True)
class CouponCounts:
    """Coupons welded in the period, by how they stand.

    Parameters
    ----------
    passed, failed, open : int
        Passing, failing, not yet judged; voided ones are in none of them.
    voided : int
        Voided.
    """

    passed: int = 0
    failed: int = 0
    open: int = 0
    voided: int = 0

    @property
    def welded(self) -> int:
        """All of them."""
        return self.passed + self.failed + self.open + self.voided


@dataclass(frozen=True)
class RateLine:
    """Pass rate of one welder, machine, adhesive or family of stacks.

    Parameters
    ----------
    group, name : str
        Of what kind (Welder, Machine, Adhesive, Stack family), and which one.
    purpose : str
        What the coupons were welded for, in words.
    passed, failed, open : int
        Coupons; open ones are not yet judged.
    raw_rate, raw_low, raw_high : float
        Share of the judged that passed, None when nothing was judged, and its interval.
    pooled_rate, pooled_low, pooled_high : float or None
        Rate and interval that lean on the rest of the group; None where there is none.
    standing : str
        What that says about the target, in words.
    is_below : bool
        Whether that is evidently below the target.
    """

    group: str
    name: str
    purpose: str
    passed: int
    failed: int
    open: int
    raw_rate: float | None
    raw_low: float
    raw_high: float
    pooled_rate: float | None
    pooled_low: float | None
    pooled_high: float | None
    standing: str
    is_below: bool = False

    def __post_init__(self) -> None:
        for kind in ("raw", "pooled"):
            for part in ("rate", "low", "high"):
                name = f"{kind}_{part}"
                _check_share(f"{name} of {self.name}", getattr(self, name))

    @property
    def judged(self) -> int:
        """Coupons with a verdict."""
        return self.passed + self.failed


@dataclass(frozen=True)
class CauseLine:
    """A cause of failure, its failing coupons, and their share of all failing ones, 0 to 1."""

    cause: str
    count: int
    share: float

    def __post_init__(self) -> None:
        _check_share(f"share of {self.cause}", self.share)


@dataclass(frozen=True)
class DriftLine:
    """Whether a machine with its electrode drifts: the reading in short, and what it rests on.

    Only where `is_drifting` says that it is evident now, it is among what needs attention.
    """

    machine: str
    electrode: str
    headline: str
    sentences: tuple[str, ...]
    is_drifting: bool

    @property
    def name(self) -> str:
        """Machine and electrode."""
        return ", ".join(part for part in (self.machine, self.electrode) if part)


@dataclass(frozen=True)
class ReleaseLine:
    """A release of the period.

    Parameters
    ----------
    job, joint, machine : str
        What was released, and on which machine.
    setting : str
        The proven setting of its coupons, in words.
    by, at : str, datetime
        Who released it, and when.
    coupons : tuple of str
        What it stands on, such as ``#12 rev 1``.
    stands, reopened : bool, tuple of str
        Whether it still stands, and why not.
    followed_by : str
        Who released the joint anew since, and when; then it does not stand any more either.
    """

    job: str
    joint: str
    machine: str
    setting: str
    by: str
    at: datetime
    coupons: tuple[str, ...]
    stands: bool
    reopened: tuple[str, ...] = ()
    followed_by: str = ""

    @property
    def proven(self) -> str:
        """The setting with the coupons that prove it; never one without the other."""
        if not self.coupons:
            return NO_COUPONS
        was = (
            "proven setting of"
            if self.stands
            else "no longer to be used; was the proven setting of"
        )
        return f"{was} {', '.join(self.coupons)}: {self.setting}"

    @property
    def state(self) -> str:
        """Whether it stands, in words, and if not, why."""
        if self.stands:
            return "STANDS"
        if self.followed_by:
            return f"RELEASED ANEW: {self.followed_by}"
        return f"OPEN AGAIN: {'; '.join(self.reopened) or 'the reason is not given'}"


@dataclass(frozen=True)
class VoidLine:
    """A coupon voided in the period: when, by whom, why, and the releases given on it."""

    number: int
    at: datetime
    by: str
    why: str
    used_in_release: tuple[str, ...] = ()


@dataclass(frozen=True)
class MissingLine:
    """A joint that its coupons do not cover: in what state, what is missing, and what to do."""

    job: str
    joint: str
    state: str
    headline: str
    detail: str

    @property
    def is_bonded(self) -> bool:
        """Whether it is the test of a bonded joint that is missing."""
        return BONDED_MISSING in self.headline.lower()


@dataclass(frozen=True)
class ExpiringLine:
    """A covered joint whose coupons soon are too old, and the moment they are."""

    job: str
    joint: str
    expires_at: datetime
    coupons: tuple[str, ...]


@dataclass(frozen=True)
class DressingLine:
    """Welds on a machine's caps since dressing, and after how many they are to be dressed."""

    machine: str
    welds: int | None
    limit: int | None
    words: str
    overdue: bool


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
    counts: CouponCounts = CouponCounts()
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
                f"the period from {self.since} to before {self.until} has {self.days} days; a "
                f"summary holds 1 to {LONGEST_DAYS}"
            )
        _check_share("the target", self.target)
        moments = [e.at for e in self.releases] + [e.at for e in self.voided]
        moments += [e.expires_at for e in self.expiring]
        if any(each.tzinfo is None for each in moments):
            raise InputError("a time in the summary has no time zone; every one needs it")

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
    """One thing that needs attention: of what kind, what, why, and in which part it stands."""

    kind: str
    what: str
    why: str
    section: str


def attention(summary: WeekSummary) -> tuple[Attention, ...]:
    """Return what is evident and needs attention, kind by kind; doubtful cases are left out."""
    return tuple(_attention(summary))


def percent(share: float) -> str:
    """Write a share as a percentage with one decimal."""
    return f"{100 * share:.1f} %"


def _attention(summary: WeekSummary) -> Iterator[Attention]:
    for rate in summary.rates:
        if rate.is_below:
            what = f"{rate.group} {rate.name}" + (f", {rate.purpose}" if rate.purpose else "")
            yield Attention("Below target", what, _below(rate, summary), "rates")
    for line in summary.drift:
        if line.is_drifting:
            yield Attention("Drifting", line.name, line.headline, "drift")
    for each in summary.releases:
        if not each.stands and not each.followed_by:
            what = f"{each.job}, {each.joint}"
            yield Attention("Release open again", what, "; ".join(each.reopened), "releases")
    yield from _voided_and_missing(summary)


def _voided_and_missing(summary: WeekSummary) -> Iterator[Attention]:
    for void in summary.voided:
        if void.used_in_release:
            why = f"voided, but released on it: {'; '.join(void.used_in_release)}"
            yield Attention("Evidence voided", f"Coupon #{void.number}", why, "voided")
    for caps in summary.dressing:
        if caps.overdue:
            yield Attention("Dressing overdue", caps.machine, caps.words, "dressing")
    for joint in summary.missing:
        if joint.is_bonded:
            why = f"{joint.headline} ({joint.state})"
            yield Attention("Bonded-joint test", f"{joint.job}, {joint.joint}", why, "missing")


def _below(rate: RateLine, summary: WeekSummary) -> str:
    # The figure of its upper end is left to the table: rounded, it might read as the target.
    target = percent(summary.target)
    return f"{rate.passed} of {rate.judged} passed; all of its interval is below {target}"


def _check_share(what: str, share: float | None) -> None:
    if share is not None and not 0 <= share <= 1:
        raise InputError(f"{what} is {share:g}; it must be from 0 to 1")
