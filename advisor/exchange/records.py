"""What the log holds, one kind of record for each thing, without the numbers of a database.

Machines, adhesives, joints and recommendations are those of the domain; the others put beside a
thing of the domain who wrote it down, when, and what it belongs to.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from advisor.bonding.adhesive import Adhesive
from advisor.bonding.clock import Reading
from advisor.bonding.preparation import Checked
from advisor.coupons.coupon import Coupon
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Release
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import Verdict
from advisor.people.roles import Role
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine


@dataclass(frozen=True)
class Person:
    """Somebody of the shop, without PIN and address.

    Parameters
    ----------
    name : str
        As coupons are signed.
    role : Role
        What they are in the shop.
    left_at : datetime or None
        When they left; None while they work here.
    """

    name: str
    role: Role
    left_at: datetime | None


@dataclass(frozen=True)
class Event:
    """Something that was done to a machine.

    Parameters
    ----------
    machine : str
        The machine.
    what : str
        ``fitted``, ``dressed``, ``repaired`` or ``settled``.
    at : datetime
        When.
    electrode : Electrode or None
        Caps that were fitted.
    note, by : str
        Free text, and who wrote it down.
    written_at : datetime
        When it was written down.
    """

    machine: str
    what: str
    at: datetime
    electrode: Electrode | None
    note: str
    by: str
    written_at: datetime


@dataclass(frozen=True)
class RulesVersion:
    """The shop's rules as they held from a moment on.

    Parameters
    ----------
    number : int
        1 for the first rules of the shop.
    rules : ShopRules
        The rules.
    by : str
        Who wrote them down.
    at : datetime
        When.
    """

    number: int
    rules: ShopRules
    by: str
    at: datetime


@dataclass(frozen=True)
class Job:
    """A repair order.

    Parameters
    ----------
    number : str
        Its number.
    opened_at : datetime
        When it was opened.
    closed_at : datetime or None
        When it was closed; None while it is open.
    """

    number: str
    opened_at: datetime
    closed_at: datetime | None


@dataclass(frozen=True)
class UsualJoint:
    """A joint the shop has often.

    Parameters
    ----------
    joint : Joint
        Its name is what the shop calls it; its job and setting mean nothing.
    """

    joint: Joint


@dataclass(frozen=True)
class CouponRevision:
    """One revision of a coupon.

    Parameters
    ----------
    number, revision : int
        The coupon, and 1 for its first entry.
    coupon : Coupon
        What it says.
    verdict : Verdict
        As it was given then.
    rules : int
        Number of the rules it was judged by.
    voided, why, origin : str
        Why it no longer counts, why it was written, where it came from.
    by : str
        Who wrote it down.
    at : datetime
        When.
    """

    number: int
    revision: int
    coupon: Coupon
    verdict: Verdict
    rules: int
    voided: str
    why: str
    origin: str
    by: str
    at: datetime


@dataclass(frozen=True)
class CouponForetold:
    """What the advisor said of a coupon before it was welded.

    Parameters
    ----------
    coupon : int
        Number of the coupon.
    foretold : Foretold
        What it said.
    at : datetime
        When it was written down.
    """

    coupon: int
    foretold: Foretold
    at: datetime


@dataclass(frozen=True)
class Photo:
    """A photo of a coupon; the picture itself is a file beside the log.

    Parameters
    ----------
    coupon : int
        Number of the coupon.
    sha256, media : str
        Hash and kind of its file.
    bytes : int
        Length of its file. [bytes]
    width_px, height_px : int
        Size of the picture. [px]
    by : str
        Who added it.
    at : datetime
        When.
    """

    coupon: int
    sha256: str
    media: str
    bytes: int
    width_px: int
    height_px: int
    by: str
    at: datetime


@dataclass(frozen=True)
class JointRelease:
    """A release of a joint.

    Parameters
    ----------
    job, joint : str
        The joint.
    release : Release
        The release; its evidence names coupons by the numbers of the file.
    """

    job: str
    joint: str
    release: Release


@dataclass(frozen=True)
class JointCheck:
    """An answer to a preparation check of a joint.

    Parameters
    ----------
    job, joint : str
        The joint.
    checked : Checked
        The answer.
    """

    job: str
    joint: str
    checked: Checked


@dataclass(frozen=True)
class Clock:
    """An adhesive clock.

    Parameters
    ----------
    number : int
        Its number in the file.
    adhesive, used_for : str
        What was mixed, and for what.
    mixed_at : datetime
        Time of mixing.
    started_by : str
        Who started it.
    stopped_at : datetime or None
        When it was stopped; None while it runs.
    stopped_by : str or None
        Who stopped it.
    """

    number: int
    adhesive: str
    used_for: str
    mixed_at: datetime
    started_by: str
    stopped_at: datetime | None
    stopped_by: str | None


@dataclass(frozen=True)
class ClockReading:
    """A panel temperature of a clock.

    Parameters
    ----------
    clock : int
        Number of the clock in the file.
    reading : Reading
        Temperature and time.
    by : str
        Who read it.
    """

    clock: int
    reading: Reading
    by: str


@dataclass(frozen=True)
class Change:
    """A line of the log of changes.

    Parameters
    ----------
    at : datetime
        When.
    who, what : str
        Who changed what.
    before, after : str or None
        As JSON, the way the log keeps it.
    """

    at: datetime
    who: str
    what: str
    before: str | None
    after: str | None


Record = (
    Person
    | Machine
    | Event
    | Adhesive
    | RulesVersion
    | Job
    | Joint
    | UsualJoint
    | CouponRevision
    | CouponForetold
    | Photo
    | JointRelease
    | JointCheck
    | MakerRecommendation
    | Clock
    | ClockReading
    | Change
)
