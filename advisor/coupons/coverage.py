"""Do the coupons speak for a joint? Covered, missing, failed or expired, with the reason.

Wet never covers cured, nor cured wet, nor another machine, stack, surface or electrode.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import takewhile

from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.matching import Condition, Difference, compare
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome
from advisor.language import listed, msg, say
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState
from advisor.weld.words import TradeWord

#: Messages for `say`.
BONDED_MISSING = msg("bonded-joint test missing")
CURED_WITHOUT_TEST = msg(
    "Without enough passing coupons through cured adhesive, use the welder maker's recommended "
    "settings for welding through cured adhesive. This tool has no setting of its own for the "
    "vehicle."
)


class CoverState(TradeWord):
    """Whether a joint may be welded on the evidence of its coupons."""

    COVERED = "covered", msg("covered")
    MISSING = "missing", msg("missing")
    FAILED = "failed", msg("failed")
    EXPIRED = "expired", msg("expired")


@dataclass(frozen=True)
class Coverage:
    """What the coupons say about a joint.

    Parameters
    ----------
    state : CoverState
        Covered, missing, failed or expired.
    headline : str
        The state in a few words; *bonded-joint test missing* where that is so.
    detail : str
        What is there, what is still wanted, what to do.
    passes, wanted : int
        Passing coupons in a row that count, and how many the shop asks for.
    evidence : tuple of LoggedCoupon
        Coupons of the run that counts, newest first.
    setting : Setting or None
        Setting of that run when the joint is covered; never any other.
    nearest : LoggedCoupon or None
        Closest coupon of the log when the joint is not covered.
    differences : tuple of Difference
        All that differs between the joint and `nearest`.
    """

    state: CoverState
    headline: str
    detail: str
    passes: int
    wanted: int
    evidence: tuple[LoggedCoupon, ...] = ()
    setting: Setting | None = None
    nearest: LoggedCoupon | None = None
    differences: tuple[Difference, ...] = ()


#: Faces are written to 0.01 mm; the same face typed in inches comes out a hair off. [mm]
_SAME_FACE_MM = 0.005
_MATCH = (
    Condition.MACHINE,
    Condition.ELECTRODE,
    Condition.STACK,
    Condition.SURFACE,
    Condition.ADHESIVE,
    Condition.SETTING,
)


@dataclass(frozen=True)
class _Compared:
    logged: LoggedCoupon
    differences: tuple[Difference, ...]

    @property
    def conditions(self) -> frozenset[Condition]:
        return frozenset(d.condition for d in self.differences)

    @property
    def matches(self) -> bool:
        """Same machine, electrode, stack, surface, adhesive and setting, and not voided."""
        return not self.conditions & {*_MATCH, Condition.VOIDED}


def assess(
    joint: Joint,
    bench: Bench,
    coupons: Iterable[LoggedCoupon],
    rules: CoverageRules,
    now: datetime,
) -> Coverage:
    """Say whether a joint is covered, and if not, why.

    A run counts at one setting: the newest coupons that match the joint and pass, up to the first
    that does not. A newer failing coupon that matches ends the run whatever job it was made for.

    Parameters
    ----------
    joint : Joint
        The joint as it will be welded.
    bench : Bench
        Caps and repairs of its machine now.
    coupons : iterable of LoggedCoupon
        Any coupons; those that do not match are looked at only for the nearest one.
    rules : CoverageRules
        The shop's rules.
    now : datetime
        Moment of asking, with its time zone.

    Returns
    -------
    Coverage
        State, evidence, and the nearest coupon with all that differs.
    """
    compared = sorted(
        (_Compared(c, compare(joint, bench, c, rules, now)) for c in _newest_revisions(coupons)),
        key=lambda c: (c.logged.coupon.made_at.astimezone(UTC), c.logged.number),
        reverse=True,
    )
    runs = _runs([c for c in compared if c.matches])
    wanted = rules.passes_in_a_row
    best = max(runs, key=lambda run: len(run.counting), default=_Run())
    if len(best.counting) >= wanted:
        return _covered(joint, best, wanted)
    return _not_covered(joint, best, runs, compared, wanted)


def _newest_revisions(coupons: Iterable[LoggedCoupon]) -> Iterable[LoggedCoupon]:
    """Keep one of each coupon: a coupon given twice is still one pass."""
    newest: dict[int, LoggedCoupon] = {}
    for each in coupons:
        if each.number not in newest or each.revision > newest[each.number].revision:
            newest[each.number] = each
    return newest.values()


@dataclass(frozen=True)
class _Run:
    """Passes in a row at one setting, newest first; those that count are of the age and job.

    `is_for_the_job` says whether one of them would count but for its age.
    """

    passing: tuple[LoggedCoupon, ...] = ()
    counting: tuple[LoggedCoupon, ...] = ()
    is_for_the_job: bool = False
    newest: Outcome = Outcome.OPEN


def _runs(matching: Sequence[_Compared]) -> list[_Run]:
    groups: list[list[_Compared]] = []
    for each in matching:
        setting = each.logged.coupon.setting
        for group in groups:
            if group[0].logged.coupon.setting.same_as(setting):
                group.append(each)
                break
        else:
            groups.append([each])
    runs = []
    for group in groups:
        passing = tuple(takewhile(lambda c: Condition.VERDICT not in c.conditions, group))
        counting = tuple(c.logged for c in passing if not c.differences)
        runs.append(
            _Run(
                tuple(c.logged for c in passing),
                counting,
                any(Condition.JOB not in c.conditions for c in passing),
                group[0].logged.verdict.outcome,
            )
        )
    return runs


def _covered(joint: Joint, run: _Run, wanted: int) -> Coverage:
    bonded = joint.stack.is_bonded
    return Coverage(
        CoverState.COVERED,
        say("bonded joint covered") if bonded else CoverState.COVERED.label,
        say(
            "{passes} passing coupons in a row at one setting ({numbers}); the shop asks for "
            "{wanted}. Weld the joint with exactly this setting.",
            passes=len(run.counting),
            numbers=", ".join(f"#{c.number}" for c in run.counting),
            wanted=wanted,
        ),
        len(run.counting),
        wanted,
        run.counting,
        run.counting[0].coupon.setting,
    )


def _not_covered(
    joint: Joint,
    best: _Run,
    runs: Sequence[_Run],
    compared: Sequence[_Compared],
    wanted: int,
) -> Coverage:
    state, detail = _why_not(best, runs, wanted) or _ended(compared, wanted)
    headline = BONDED_MISSING if joint.stack.is_bonded else _HEADLINES[state]
    if joint.stack.adhesive_state is AdhesiveState.CURED:
        detail = f"{detail} {say(CURED_WITHOUT_TEST)}"
    nearest = min(compared, key=lambda c: (len(c.conditions), len(c.differences)), default=None)
    return Coverage(
        state,
        say(headline),
        detail,
        len(best.counting),
        wanted,
        best.counting,
        None,
        nearest.logged if nearest else None,
        nearest.differences if nearest else (),
    )


_HEADLINES = {
    CoverState.MISSING: msg("test missing"),
    CoverState.FAILED: msg("test failed"),
    CoverState.EXPIRED: msg("test expired"),
}


def _why_not(best: _Run, runs: Sequence[_Run], wanted: int) -> tuple[CoverState, str] | None:
    have = len(best.counting)
    newest = {run.newest for run in runs}
    once_covered = any(len(run.passing) >= wanted for run in runs)
    if have:
        why = CoverState.MISSING, _BEGUN
    elif Outcome.FAIL in newest and not once_covered:
        why = CoverState.FAILED, _FAILED
    elif any(run.newest is Outcome.PASS and run.is_for_the_job for run in runs):
        why = CoverState.EXPIRED, _TOO_OLD
    elif Outcome.PASS in newest:
        why = CoverState.MISSING, _OTHER_JOB
    elif Outcome.OPEN in newest:
        why = CoverState.MISSING, _OPEN
    else:
        return None
    return why[0], say(why[1], have=have, wanted=wanted, more=wanted - have)


_BEGUN = msg(
    "{have} of {wanted} passing coupons in a row: weld and test {more} more at the same setting."
)
_FAILED = msg(
    "The newest matching coupon failed: change the setting, then {wanted} passes in a row."
)
_TOO_OLD = msg("Coupons passed, but too long ago: weld and test {wanted} new ones.")
_OTHER_JOB = msg("Coupons passed, but only for another job: weld and test {wanted} for this one.")
_OPEN = msg(
    "The newest matching coupon is not yet judged: write down its test, then {wanted} passes in a "
    "row."
)


def _ended(compared: Sequence[_Compared], wanted: int) -> tuple[CoverState, str]:
    """Return what new caps or a repair ended, or that nothing ever matched."""
    for each in compared:
        events = [d.ended_by for d in each.differences if d.condition in _MATCH]
        if all(events) and each.logged.verdict.outcome is Outcome.PASS and not each.logged.voided:
            return (
                CoverState.EXPIRED,
                say(
                    "Coupons passed before {events}: weld and test {wanted} new ones.",
                    events=listed(events),
                    wanted=wanted,
                ),
            )
    return (
        CoverState.MISSING,
        say("No matching coupon has passed: weld and test {wanted} in a row.", wanted=wanted),
    )
