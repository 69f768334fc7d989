"""The lines that a summary of a week is made of, each with what it says of itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from advisor.coupons.coverage import BONDED_MISSING
from advisor.errors import InputError
from advisor.language import msg, say

#: Release whose coupons are not named: its setting is not shown, since nothing proves it.
NO_COUPONS = msg("no setting shown: the release names no coupons that prove it")


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
                check_share(f"{name} of {self.name}", getattr(self, name))

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
        check_share(f"share of {self.cause}", self.share)


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


_PROVEN = msg("proven setting of {coupons}: {setting}")
_WAS_PROVEN = msg("no longer to be used; was the proven setting of {coupons}: {setting}")


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
            return say(NO_COUPONS)
        return say(
            _PROVEN if self.stands else _WAS_PROVEN,
            coupons=", ".join(self.coupons),
            setting=self.setting,
        )

    @property
    def state(self) -> str:
        """Whether it stands, in words, and if not, why."""
        if self.stands:
            return say("STANDS")
        if self.followed_by:
            return say("RELEASED ANEW: {by}", by=self.followed_by)
        why = "; ".join(self.reopened) or say("the reason is not given")
        return say("OPEN AGAIN: {why}", why=why)


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
    """A joint that its coupons do not cover: in what state, what is missing, and what to do.

    `short` says what to do in a few words; without it `lacking` is the detail.
    """

    job: str
    joint: str
    state: str
    headline: str
    detail: str
    short: str = ""

    @property
    def lacking(self) -> str:
        """What is missing and what to do, as short as it is known."""
        return self.short or self.detail

    @property
    def is_bonded(self) -> bool:
        """Whether it is the test of a bonded joint that is missing."""
        headline = self.headline.casefold()
        return any(words.casefold() in headline for words in (BONDED_MISSING, say(BONDED_MISSING)))


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


def check_share(what: str, share: float | None) -> None:
    """Refuse a share that is not from 0 to 1 with an `InputError`; None is none."""
    if share is not None and not 0 <= share <= 1:
        raise InputError(say("{what} is {share:g}; it must be from 0 to 1", what=what, share=share))
