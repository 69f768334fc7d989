"""What keeps one coupon from speaking for one joint: every broken condition, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from advisor.coupons.coupon import Coupon, is_from_the_future
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome
from advisor.language import figure, msg, say
from advisor.weld.stack import Stack
from advisor.weld.words import TradeWord

#: Faces are written to 0.01 mm; the same face typed in inches comes out a hair off. Choice of this
#: project. [mm]
_SAME_FACE_MM = 0.005


class Condition(TradeWord):
    """A condition of coverage; each can break alone."""

    MACHINE = "machine", msg("machine")
    ELECTRODE = "electrode", msg("electrode")
    STACK = "stack", msg("stack")
    SURFACE = "surface", msg("surface")
    ADHESIVE = "adhesive", msg("adhesive")
    SETTING = "setting", msg("setting")
    VERDICT = "verdict", msg("verdict")
    VOIDED = "voided", msg("voided")
    JOB = "job", msg("job")
    AGE = "age", msg("age")


@dataclass(frozen=True)
class Difference:
    """One broken condition, in words.

    Parameters
    ----------
    condition : Condition
        What is broken.
    text : str
        How, in words.
    ended_by : str
        What ended the coverage of a coupon that matched before it; empty for anything else.
    """

    condition: Condition
    text: str
    ended_by: str = ""


def compare(
    joint: Joint, bench: Bench, logged: LoggedCoupon, rules: CoverageRules, now: datetime
) -> tuple[Difference, ...]:
    """Return every condition that keeps one coupon from speaking for one joint.

    Parameters
    ----------
    joint : Joint
        The joint as it will be welded.
    bench : Bench
        Caps and repairs of the joint's machine.
    logged : LoggedCoupon
        The coupon.
    rules : CoverageRules
        The shop's rules.
    now : datetime
        Moment of asking, with its time zone.

    Returns
    -------
    tuple of Difference
        Empty when the coupon counts. The number of passes in a row is not a matter of one coupon:
        see `assess`.
    """
    coupon = logged.coupon
    found: list[Difference] = []

    def differs(condition: Condition, text: str) -> None:
        found.append(Difference(condition, text))

    if coupon.machine != joint.machine:
        text = say("made on {used}, not on {planned}", used=coupon.machine, planned=joint.machine)
        differs(Condition.MACHINE, text)
    found += _bench_differences(joint, bench, coupon, now)
    found += stack_differences(joint.stack, coupon.stack, rules.thickness_tolerance_mm)
    if joint.setting is not None:
        for text in coupon.setting.differences(joint.setting):
            differs(Condition.SETTING, text)
    if logged.verdict.outcome is not Outcome.PASS:
        differs(Condition.VERDICT, say("judged {verdict}", verdict=logged.verdict.outcome.label))
    if logged.voided:
        differs(Condition.VOIDED, say("voided: {why}", why=logged.voided))
    if joint.stack.is_bonded and coupon.job != joint.job:
        message = _OF_ANOTHER_JOB if coupon.job else _OF_NO_JOB
        differs(Condition.JOB, say(message, made_for=coupon.job, job=joint.job))
    days = rules.bonded_days if joint.stack.is_bonded else rules.unbonded_days
    return (*found, *_age_differences(coupon.made_at, now, days))


_OF_ANOTHER_JOB = msg("made for job {made_for}; a bonded joint needs one of job {job}")
_OF_NO_JOB = msg("made for no job; a bonded joint needs one of job {job}")


def _age_differences(made_at: datetime, now: datetime, days: int) -> list[Difference]:
    if is_from_the_future(made_at, now):
        made = _moment(made_at, now)
        text = say("dated in the future ({made}); correct its date", made=made)
        return [Difference(Condition.AGE, text)]
    # In UTC: Python takes the clock change for elapsed time when both share a local zone.
    if now.astimezone(UTC) - made_at.astimezone(UTC) > timedelta(days=days):
        made = _moment(made_at, now)
        text = say("made {made}; the shop allows {days} days", made=made, days=days)
        return [Difference(Condition.AGE, text)]
    return []


def _moment(at: datetime, now: datetime) -> str:
    """Write a moment on the clock of the one who asks."""
    return figure(at.astimezone(now.tzinfo), "%Y-%m-%d %H:%M")


def _bench_differences(
    joint: Joint, bench: Bench, coupon: Coupon, now: datetime
) -> list[Difference]:
    found = []
    fitted, used = bench.electrode, coupon.electrode
    if bench.machine != joint.machine:
        text = say(
            "the caps fitted are known for {known}, not for {planned}",
            known=bench.machine,
            planned=joint.machine,
        )
        found.append(Difference(Condition.ELECTRODE, text))
    if fitted is None:
        text = say("the shop has not said which caps are fitted on this machine (Shop set-up)")
        found.append(Difference(Condition.ELECTRODE, text))
    elif used.shape is not fitted.shape or abs(used.face_mm - fitted.face_mm) > _SAME_FACE_MM:
        text = say("made with {used}, fitted now: {now}", used=used.title(), now=fitted.title())
        found.append(Difference(Condition.ELECTRODE, text))
    return [*found, *_events_since(bench, coupon.made_at.astimezone(UTC), now)]


def _events_since(bench: Bench, made_at: datetime, now: datetime) -> Iterator[Difference]:
    """Yield what ended the coverage of a coupon after it was made."""
    if bench.fitted_at is not None and made_at < bench.fitted_at:
        at = _moment(bench.fitted_at, now)
        text = say("new caps were fitted after it ({at})", at=at)
        yield Difference(Condition.ELECTRODE, text, say("new caps were fitted ({at})", at=at))
    if bench.repaired_at is not None and made_at < bench.repaired_at:
        at = _moment(bench.repaired_at, now)
        text = say("the machine was repaired after it ({at})", at=at)
        yield Difference(Condition.MACHINE, text, say("the machine was repaired ({at})", at=at))


def stack_differences(wanted: Stack, welded: Stack, tolerance_mm: float) -> list[Difference]:
    """Compare two stacks both ways up and return the shorter list of what differs.

    Parameters
    ----------
    wanted, welded : Stack
        Stack of a joint, and of a coupon.
    tolerance_mm : float
        How much a thickness may differ. [mm]
    """
    if len(wanted.sheets) != len(welded.sheets):
        text = say("{have} sheets, not {want}", have=len(welded.sheets), want=len(wanted.sheets))
        return [Difference(Condition.STACK, text)]
    return min(
        (
            _stack_differences_as_laid(wanted, way_up, tolerance_mm)
            for way_up in (welded, welded.turned_over())
        ),
        key=len,
    )


def _stack_differences_as_laid(
    wanted: Stack, welded: Stack, tolerance_mm: float
) -> list[Difference]:
    found = []
    for number, (want, have) in enumerate(zip(wanted.sheets, welded.sheets, strict=True), start=1):
        if abs(want.thickness_mm - have.thickness_mm) > tolerance_mm + 1e-9:
            text = say(
                "sheet {sheet}: {have:g} mm, not {want:g} mm",
                sheet=number,
                have=have.thickness_mm,
                want=want.thickness_mm,
            )
            found.append(Difference(Condition.STACK, text))
        if want.family is not have.family:
            text = say(
                "sheet {sheet}: {have}, not {want}",
                sheet=number,
                have=have.family.label,
                want=want.family.label,
            )
            found.append(Difference(Condition.STACK, text))
        for need, had, message in (
            (want.upper, have.upper, _UPPER_FACE),
            (want.lower, have.lower, _LOWER_FACE),
        ):
            if need is not had:
                text = say(message, sheet=number, have=had.label, want=need.label)
                found.append(Difference(Condition.SURFACE, text))
    bonds = zip(wanted.bonds, welded.bonds, strict=True)
    for number, (bond_wanted, bond_had) in enumerate(bonds, start=1):
        if bond_wanted != bond_had:
            text = say(
                "interface {interface}: {have}, not {want}",
                interface=number,
                have=str(bond_had),
                want=str(bond_wanted),
            )
            found.append(Difference(Condition.ADHESIVE, text))
    return found


_UPPER_FACE = msg("sheet {sheet}, upper face: {have}, not {want}")
_LOWER_FACE = msg("sheet {sheet}, lower face: {have}, not {want}")
