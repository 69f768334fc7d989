"""The record of one job: what was to be welded, what was tested, who released what on what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from importlib.metadata import version

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.record.entries import ClockRun, CouponEntry, JointEntry
from advisor.weld.machine import Machine

INVENTED = msg("INVENTED DEMO DATA: no such shop, vehicle or weld exists")
PRACTICE = msg("PRACTICE COPY: changed for teaching, no record of the shop")


def software_version() -> str:
    """Return the name and version of this software."""
    return f"weld-coupon-advisor {version('weld-coupon-advisor')}"


@dataclass(frozen=True)
class Printing:
    """Whose record it is, and when it was made.

    Parameters
    ----------
    shop, place : str
        Name of the shop, and where it is.
    job : str
        Repair order.
    at : datetime
        When the record was made, with its time zone: every time in it is written in that zone.
    by : str
        Who made it.
    is_demo : bool
        Whether the shop is the invented one; every page says so.
    is_copy : bool
        Whether the log is a practice copy; every page says so.
    software : str
        Name and version of the software.
    """

    shop: str
    place: str
    job: str
    at: datetime
    by: str
    is_demo: bool = False
    is_copy: bool = False
    software: str = field(default_factory=software_version)

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise InputError(say("the time of a record needs its time zone"))
        if not self.job.strip():
            raise InputError(say("the record has no job; give the repair-order number"))

    @property
    def mark(self) -> str:
        """What every page says when it is no record of a shop; empty when it is one."""
        if self.is_demo:
            return say(INVENTED)
        return say(PRACTICE) if self.is_copy else ""

    def moment(self, at: datetime) -> str:
        """Write a moment in the record's time zone."""
        return figure(at.astimezone(self.at.tzinfo), "%Y-%m-%d %H:%M")

    @property
    def zone(self) -> str:
        """The time zone as its distance from UTC."""
        offset = f"{self.at:%z}"
        return f"UTC{offset[:3]}:{offset[3:5]}"


@dataclass(frozen=True)
class JobRecord:
    """All of one job.

    Parameters
    ----------
    printing : Printing
        Shop, job, when and by whom.
    joints : tuple of JointEntry
        Its joints.
    coupons : tuple of CouponEntry
        Its coupons, and any others its joints stand on.
    rules : ShopRules
        The shop's rules when the record is made.
    machines : tuple of Machine
        Machines of its joints and coupons.
    adhesives : tuple of Adhesive
        Adhesives of its joints and coupons that the shop has entered.
    clocks : tuple of ClockRun
        Their clocks.
    log_seal : str
        Seal of the newest revision in the log when the record was made, see
        `wording.log_seal_words`; empty where the log holds no coupon.
    """

    printing: Printing
    joints: tuple[JointEntry, ...]
    coupons: tuple[CouponEntry, ...]
    rules: ShopRules
    machines: tuple[Machine, ...] = ()
    adhesives: tuple[Adhesive, ...] = ()
    clocks: tuple[ClockRun, ...] = ()
    log_seal: str = ""

    def rules_used(self) -> tuple[ShopRules, ...]:
        """Return the rules of now and every other that a coupon of the record was judged by."""
        used = [each.judged_by(self.rules) for each in self.coupons]
        return tuple(dict.fromkeys([self.rules, *(rules for rules in used if rules)]))

    def joints_of(self, number: int) -> tuple[JointEntry, ...]:
        """Return the joints that a coupon counts for or whose release stands on it."""
        return tuple(each for each in self.joints if number in each.numbers)


def make_record(
    printing: Printing,
    joints: Sequence[JointEntry],
    coupons: Sequence[CouponEntry],
    rules: ShopRules,
    *,
    machines: Sequence[Machine] = (),
    adhesives: Sequence[Adhesive] = (),
    clocks: Sequence[ClockRun] = (),
    log_seal: str = "",
) -> JobRecord:
    """Return the record of a job, keeping of a shop's lists what the job touches.

    Parameters
    ----------
    printing : Printing
        Shop, job, when and by whom.
    joints : sequence of JointEntry
        Joints of the job.
    coupons : sequence of CouponEntry
        Coupons of the job and every coupon a joint stands on, in any order.
    rules : ShopRules
        The shop's rules now.
    machines, adhesives, clocks : sequence
        All the shop has.
    log_seal : str
        Seal of the newest revision in the log, read after everything else.

    Raises
    ------
    InputError
        A joint of another job, or a coupon that a joint stands on is not among those given.
    """
    _check(printing, joints, coupons)
    ordered = tuple(sorted(coupons, key=lambda each: each.logged.number))
    planned = [each.joint for each in joints]
    welded = [each.logged.coupon for each in ordered]
    names = {each.machine for each in planned} | {each.machine for each in welded}
    stacks = [each.stack for each in planned] + [each.stack for each in welded]
    glued = {bond.adhesive for stack in stacks for bond in stack.bonds if bond.is_bonded}
    return JobRecord(
        printing,
        tuple(joints),
        ordered,
        rules,
        tuple(each for each in machines if each.name in names),
        tuple(each for each in adhesives if each.name in glued),
        tuple(each for each in clocks if each.adhesive.name in glued),
        log_seal,
    )


def _check(
    printing: Printing, joints: Sequence[JointEntry], coupons: Sequence[CouponEntry]
) -> None:
    there = {each.logged.number for each in coupons}
    for each in joints:
        if each.joint.job != printing.job:
            raise InputError(
                say(
                    "joint {joint} is of job {other}, not of {job}; a record holds one job",
                    joint=each.joint.name,
                    other=each.joint.job,
                    job=printing.job,
                )
            )
        lacking = sorted(set(each.numbers) - there)
        if lacking:
            numbers = ", ".join(f"#{number}" for number in lacking)
            raise InputError(
                say(
                    "joint {joint} stands on coupon {numbers}, which the record was not given; "
                    "give every coupon of its coverage and its release",
                    joint=each.joint.name,
                    numbers=numbers,
                )
            )
