"""The coupon plan of a job: the fewest kinds of coupon that speak for all its open joints.

A kind is a stack on a machine. Whether it would speak for a joint is asked of `matching.compare`,
with a passing coupon welded now; no rule is said again here.

Only stacks of the job's own joints are kinds, because a shop cuts the sheets it has. Without a
tolerance on thickness that is the least set there is. With one it is the least among those stacks:
0.80 and 0.88 mm could both be spoken for by 0.84 mm, but only where a joint of the job has that
sheet. Kinds are made fewest; the coupons of each are counted after, to the safe side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

import numpy as np
import numpy.typing as npt
import scipy

from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import Coverage, CoverState, assess
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.matching import Difference, compare
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome, Verdict
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import AdhesiveState, Stack

#: Stand in a trial coupon where no setting is planned, or no caps are known.
_ANY_SETTING, _ANY_CAPS = Setting(8.0, 200.0, 2.5), Electrode(CapShape.DOME, 6.0)
_LAST_STATE_FIRST = tuple(reversed(AdhesiveState))
#: Rows are kinds, columns joints.
_Speaks = npt.NDArray[np.bool_]
_Asked = tuple[Joint, Coverage]


@dataclass(frozen=True)
class CouponKind:
    """Coupons of one kind that are still to be welded.

    Parameters
    ----------
    stack : Stack
        Sheets, faces and adhesive as the coupon is welded.
    machine : str
        Machine it is welded on.
    electrode : Electrode
        Caps it is welded with, as they are fitted now.
    joints : tuple of Joint
        Open joints it speaks for; each open joint is in one kind.
    coupons : int
        How many are still to be welded, all passing in a row at one setting.
    continues : tuple of LoggedCoupon
        Passing coupons that count already, if the new ones are welded at their setting.
    """

    stack: Stack
    machine: str
    electrode: Electrode
    joints: tuple[Joint, ...]
    coupons: int
    continues: tuple[LoggedCoupon, ...] = ()

    @property
    def state(self) -> AdhesiveState:
        """The adhesive state to reach before it is welded, the furthest of its interfaces."""
        return self.stack.adhesive_state

    @property
    def cuts(self) -> Counter[Sheet]:
        """Sheets to cut and how many of each; a sheet is the same with its faces swapped."""
        pieces: Counter[Sheet] = Counter()
        for sheet in self.stack.sheets:
            either = (sheet, sheet.turned_over())
            pieces[min(either, key=lambda each: (each.upper, each.lower))] += self.coupons
        return pieces


@dataclass(frozen=True)
class Plan:
    """What is to be welded so that every joint of a job is covered.

    Parameters
    ----------
    kinds : tuple of CouponKind
        Kinds of coupon; cured adhesive first, because it must wait, unbonded last.
    covered : tuple of Joint
        Joints that need no coupon any more.
    blocked : tuple of (Joint, tuple of Difference)
        Joints that no coupon welded now could cover, and what stands in the way.
    """

    kinds: tuple[CouponKind, ...]
    covered: tuple[Joint, ...] = ()
    blocked: tuple[tuple[Joint, tuple[Difference, ...]], ...] = ()

    @property
    def coupons(self) -> int:
        """How many coupons are to be welded in all."""
        return sum(kind.coupons for kind in self.kinds)

    @property
    def cuts(self) -> Counter[Sheet]:
        """Sheets to cut for all kinds together."""
        return sum((kind.cuts for kind in self.kinds), Counter())


def plan_coupons(
    joints: Sequence[tuple[Joint, Coverage]],
    benches: Mapping[str, Bench],
    rules: CoverageRules,
    now: datetime,
) -> Plan:
    """Return the fewest kinds of coupon that cover all open joints of a job.

    Parameters
    ----------
    joints : sequence of (Joint, Coverage)
        The joints of the job and what the log says about each.
    benches : mapping of str to Bench
        Caps and repairs of each machine, by its name.
    rules : CoverageRules
        The shop's rules.
    now : datetime
        Moment of asking, with its time zone.

    Returns
    -------
    Plan
        Kinds with their number of coupons, and what cannot be covered yet.
    """
    shop = _Shop(benches, rules, now)
    wanting = [each for each in joints if each[1].state is not CoverState.COVERED]
    trials = list(_trials([joint for joint, _ in joints], shop))
    speaks = np.array(
        [[not shop.between(joint, trial) for joint, _ in wanting] for trial in trials], dtype=bool
    ).reshape(len(trials), len(wanting))
    chosen = np.flatnonzero(_least(speaks))
    members = _members([trials[n] for n in chosen], speaks[chosen], wanting)
    kinds = [_kind(trial, served, shop) for trial, served in members]
    blocked = [wanting[n][0] for n in np.flatnonzero(~speaks.any(axis=0))]
    return Plan(
        tuple(sorted(kinds, key=lambda kind: (_LAST_STATE_FIRST.index(kind.state), kind.machine))),
        tuple(joint for joint, coverage in joints if coverage.state is CoverState.COVERED),
        tuple((joint, shop.obstacles(joint)) for joint in blocked),
    )


@dataclass(frozen=True)
class _Shop:
    benches: Mapping[str, Bench]
    rules: CoverageRules
    now: datetime

    def bench(self, machine: str) -> Bench:
        return self.benches.get(machine, Bench(machine))

    def trial(self, stack: Stack, machine: str, job: str, setting: Setting) -> LoggedCoupon:
        """Return the passing coupon that a kind would be if it were welded now."""
        caps = self.bench(machine).electrode or _ANY_CAPS
        coupon = Coupon(self.now, "anyone", machine, caps, stack, setting, job=job)
        return LoggedCoupon(0, coupon, Verdict(Outcome.PASS, ()))

    def between(self, joint: Joint, trial: LoggedCoupon) -> tuple[Difference, ...]:
        return compare(joint, self.bench(joint.machine), trial, self.rules, self.now)

    def obstacles(self, joint: Joint) -> tuple[Difference, ...]:
        own = (joint.stack, joint.machine, joint.job, joint.setting or _ANY_SETTING)
        return self.between(joint, self.trial(*own))

    def still_to_pass(self, joint: Joint, coverage: Coverage, trial: LoggedCoupon) -> int:
        """Return how many coupons like this one the joint needs, its own passes counted."""
        rest = coverage.wanted - coverage.passes
        new = [replace(trial, number=-n) for n in range(1, rest + 1)]
        log, bench = (*coverage.evidence, *new), self.bench(joint.machine)
        then = assess(joint, bench, log, self.rules, self.now)
        return rest if then.state is CoverState.COVERED else coverage.wanted


def _trials(joints: Sequence[Joint], shop: _Shop) -> Iterable[LoggedCoupon]:
    """Return a coupon of each own stack (and planned setting), the most common stack first."""
    places = Counter((joint.stack.canonical(), joint.machine, joint.job) for joint in joints)
    as_drawn = {joint.stack.canonical(): joint.stack for joint in reversed(joints)}
    for (stack, machine, job), _ in places.most_common():
        planned = dict.fromkeys(j.setting for j in joints if j.setting and j.machine == machine)
        for setting in planned or (_ANY_SETTING,):
            yield shop.trial(as_drawn[stack], machine, job, setting)


def _members(
    trials: Sequence[LoggedCoupon], speaks: _Speaks, wanting: Sequence[_Asked]
) -> list[tuple[LoggedCoupon, list[_Asked]]]:
    """Give each joint to one kind: that of its own stack, else the first that speaks for it."""
    members: list[tuple[LoggedCoupon, list[_Asked]]] = [(trial, []) for trial in trials]
    for n, each in enumerate(wanting):
        kinds = [members[k] for k in np.flatnonzero(speaks[:, n])]
        own = [kind for kind in kinds if kind[0].coupon.stack.same_as(each[0].stack)]
        for _, served in (own or kinds)[:1]:
            served.append(each)
    return members


def _kind(trial: LoggedCoupon, served: Sequence[_Asked], shop: _Shop) -> CouponKind:
    """Count the coupons that leave no joint of the kind open, at the setting that needs fewest."""
    evidence = {c.number: c for _, coverage in served for c in coverage.evidence}
    settings = [trial.coupon.setting]
    if not any(joint.setting for joint, _ in served):
        settings = [*dict.fromkeys(c.coupon.setting for c in evidence.values()), *settings]

    def needed(setting: Setting) -> int:
        like = replace(trial, coupon=replace(trial.coupon, setting=setting))
        return max(shop.still_to_pass(*each, like) for each in served)

    setting = min(settings, key=needed)
    coupons = needed(setting)
    begun = [c for c in evidence.values() if c.coupon.setting.same_as(setting)]
    return CouponKind(
        trial.coupon.stack,
        trial.coupon.machine,
        trial.coupon.electrode,
        tuple(joint for joint, _ in served),
        coupons,
        tuple(begun) if coupons < shop.rules.passes_in_a_row else (),
    )


def _least(speaks: _Speaks) -> _Speaks:
    """Return the fewest rows that have every column that any has: a least set cover, exactly.

    Among equal sets the earlier rows are taken; their weights together never outweigh a row.
    """
    count = len(speaks)
    speaks = speaks[:, speaks.any(axis=0)]
    if not speaks.size:
        return np.zeros(count, dtype=bool)
    found = scipy.optimize.milp(
        1 + np.arange(count) / (2 * count**2),
        integrality=np.ones(count, dtype=np.int64),
        bounds=scipy.optimize.Bounds(0, 1),
        constraints=scipy.optimize.LinearConstraint(speaks.T.astype(float), lb=1),
        options={"mip_rel_gap": 0.0},
    )
    # There is always a solution: all rows together.
    return np.asarray(cast("npt.NDArray[np.float64]", found.x) > 0.5)
