"""What keeps one coupon from speaking for one joint: every broken condition, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from advisor.coupons.coupon import Coupon, is_from_the_future
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome
from advisor.weld.stack import Stack
from advisor.weld.words import TradeWord

#: Faces are written to 0.01 mm; the same face typed in inches comes out a hair off. [mm]
_SAME_FACE_MM = 0.005


class Condition(TradeWord):
    """A condition of coverage; each can break alone."""

    MACHINE = "machine", "machine"
    ELECTRODE = "electrode", "electrode"
    STACK = "stack", "stack"
    SURFACE = "surface", "surface"
    ADHESIVE = "adhesive", "adhesive"
    SETTING = "setting", "setting"
    VERDICT = "verdict", "verdict"
    VOIDED = "voided", "voided"
    JOB = "job", "job"
    AGE = "age", "age"


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
        differs(Condition.MACHINE, f"made on {coupon.machine}, not on {joint.machine}")
    found += _bench_differences(joint, bench, coupon, now)
    found += stack_differences(joint.stack, coupon.stack, rules.thickness_tolerance_mm)
    if joint.setting is not None:
        for text in coupon.setting.differences(joint.setting):
            differs(Condition.SETTING, text)
    if logged.verdict.outcome is not Outcome.PASS:
        differs(Condition.VERDICT, f"judged {logged.verdict.outcome.label}")
    if logged.voided:
        differs(Condition.VOIDED, f"voided: {logged.voided}")
    if joint.stack.is_bonded and coupon.job != joint.job:
        made_for = f"job {coupon.job}" if coupon.job else "no job"
        differs(Condition.JOB, f"made for {made_for}; a bonded joint needs one of job {joint.job}")
    days = rules.bonded_days if joint.stack.is_bonded else rules.unbonded_days
    return (*found, *_age_differences(coupon.made_at, now, days))


def _age_differences(made_at: datetime, now: datetime, days: int) -> list[Difference]:
    if is_from_the_future(made_at, now):
        text = f"dated in the future ({_moment(made_at, now)}); correct its date"
        return [Difference(Condition.AGE, text)]
    # In UTC: Python takes the clock change for elapsed time when both share a local zone.
    if now.astimezone(UTC) - made_at.astimezone(UTC) > timedelta(days=days):
        text = f"made {_moment(made_at, now)}; the shop allows {days} days"
        return [Difference(Condition.AGE, text)]
    return []


def _moment(at: datetime, now: datetime) -> str:
    """Write a moment on the clock of the one who asks."""
    return f"{at.astimezone(now.tzinfo):%Y-%m-%d %H:%M}"


def _bench_differences(
    joint: Joint, bench: Bench, coupon: Coupon, now: datetime
) -> list[Difference]:
    found = []
    fitted, used, made_at = bench.electrode, coupon.electrode, coupon.made_at.astimezone(UTC)
    if bench.machine != joint.machine:
        text = f"the caps fitted are known for {bench.machine}, not for {joint.machine}"
        found.append(Difference(Condition.ELECTRODE, text))
    if fitted is None:
        text = "the shop has not said which caps are fitted on this machine (Shop set-up)"
        found.append(Difference(Condition.ELECTRODE, text))
    elif used.shape is not fitted.shape or abs(used.face_mm - fitted.face_mm) > _SAME_FACE_MM:
        text = f"made with {used.title()}, fitted now: {fitted.title()}"
        found.append(Difference(Condition.ELECTRODE, text))
    if bench.fitted_at is not None and made_at < bench.fitted_at:
        event = f"new caps were fitted ({_moment(bench.fitted_at, now)})"
        text = event.replace("fitted", "fitted after it")
        found.append(Difference(Condition.ELECTRODE, text, event))
    if bench.repaired_at is not None and made_at < bench.repaired_at:
        event = f"the machine was repaired ({_moment(bench.repaired_at, now)})"
        text = event.replace("repaired", "repaired after it")
        found.append(Difference(Condition.MACHINE, text, event))
    return found


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
        text = f"{len(welded.sheets)} sheets, not {len(wanted.sheets)}"
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
            text = f"sheet {number}: {have.thickness_mm:g} mm, not {want.thickness_mm:g} mm"
            found.append(Difference(Condition.STACK, text))
        if want.family is not have.family:
            text = f"sheet {number}: {have.family.label}, not {want.family.label}"
            found.append(Difference(Condition.STACK, text))
        for face in ("upper", "lower"):
            need, had = getattr(want, face), getattr(have, face)
            if need is not had:
                text = f"sheet {number}, {face} face: {had.label}, not {need.label}"
                found.append(Difference(Condition.SURFACE, text))
    for number, (need, had) in enumerate(zip(wanted.bonds, welded.bonds, strict=True), start=1):
        if need != had:
            text = f"interface {number}: {had}, not {need}"
            found.append(Difference(Condition.ADHESIVE, text))
    return found
