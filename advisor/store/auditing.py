"""What was welded on what evidence: releases, voided coupons, joints that wait, caps to dress."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select

from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint
from advisor.coupons.release import Release
from advisor.coupons.rules import CoverageRules
from advisor.language import figure
from advisor.store.base import is_newest
from advisor.store.joint_rows import release_from
from advisor.store.joints import StoredJoint
from advisor.store.releases import JointState, Releases
from advisor.store.schema import coupon, coupon_revision, job, joint, machine, release
from advisor.store.shop_records import DRESSED, FITTED, MOST_COUNTED

#: Releases and voided coupons of a period that are looked at, and open joints, newest first. Choice
#: of this project: as many as one reads.
MOST_RELEASES, MOST_VOIDED, MOST_JOINTS = 200, 200, 60
#: Coverage that ends within this time is told of (common practice, no source).
SOON = timedelta(days=3)
_R = coupon_revision


@dataclass(frozen=True)
class Released:
    """One release of a period.

    Parameters
    ----------
    joint_id : int
        Number of the joint.
    joint : Joint
        The joint.
    release : Release
        Who released it, when, on which coupons.
    reopened : tuple of str
        Why the joint is open again; empty when it is not.
    followed_by : str
        Who released the joint anew since, and when; empty for its newest release.
    """

    joint_id: int
    joint: Joint
    release: Release
    reopened: tuple[str, ...]
    followed_by: str = ""

    @property
    def stands(self) -> bool:
        """Whether the joint may still be welded by this release."""
        return not self.reopened and not self.followed_by


@dataclass(frozen=True)
class Voided:
    """One coupon that was voided in a period.

    Parameters
    ----------
    number : int
        The coupon.
    at : datetime
        When it was voided.
    by, why : str
        Who did, and the reason.
    releases : tuple of str
        Joints whose newest release was given on it.
    """

    number: int
    at: datetime
    by: str
    why: str
    releases: tuple[str, ...]


@dataclass(frozen=True)
class Waiting:
    """One joint of an open job, as it stands now.

    Parameters
    ----------
    stored : StoredJoint
        The joint and its number.
    state : JointState
        Coverage and release.
    ends_at : datetime or None
        When its coverage ends by age; None when it is not covered.
    """

    stored: StoredJoint
    state: JointState
    ends_at: datetime | None

    @property
    def coverage(self) -> Coverage:
        """What the coupons say."""
        return self.state.coverage

    @property
    def is_released(self) -> bool:
        """Whether a release stands."""
        return self.state.is_released

    @property
    def lacks_coupons(self) -> bool:
        """Whether it is neither covered nor released."""
        return self.coverage.state is not CoverState.COVERED and not self.is_released


@dataclass(frozen=True)
class Caps:
    """How long the caps of a machine have been welded with.

    Parameters
    ----------
    machine : str
        The machine.
    welds : int or None
        Welds since dressing: the newest count that a coupon gives and the coupons since, or the
        coupons alone, of the `MOST_COUNTED` newest; None when nobody has said that caps were
        fitted or dressed.
    since : datetime or None
        When they were fitted or dressed.
    counted : bool
        Whether a coupon gave a count; otherwise welds on vehicles are not in it.
    """

    machine: str
    welds: int | None
    since: datetime | None
    counted: bool


class Auditing(Releases):
    """The lead's look at evidence."""

    def releases_between(
        self, since: datetime, until: datetime, now: datetime | None = None
    ) -> list[Released]:
        """Return the releases of a period, newest first, at most `MOST_RELEASES`."""
        query = (
            select(release)
            .where(
                release.c.shop_id == self._shop,
                release.c.released_at >= since,
                release.c.released_at < until,
            )
            .order_by(release.c.released_at.desc(), release.c.id.desc())
            .limit(MOST_RELEASES)
        )
        with self._reading() as connection:
            found = [
                (row["joint_id"], release_from(row)) for row in connection.execute(query).mappings()
            ]
        stored = [self.joint(joint_id) for joint_id in dict.fromkeys(n for n, _ in found)]
        states = {state.stored.id: state for state in self.states_of(stored, now)}
        return [_released(number, each, states[number]) for number, each in found]

    def voided_between(self, since: datetime, until: datetime) -> list[Voided]:
        """Return the coupons that were voided in a period, newest first, at most `MOST_VOIDED`."""
        query = (
            select(coupon.c.number, _R.c.recorded_at, _R.c.recorded_by, _R.c.voided, _R.c.made_at)
            .join(coupon, coupon.c.id == _R.c.coupon_id)
            .where(
                _R.c.shop_id == self._shop,
                _R.c.voided != "",
                _R.c.recorded_at >= since,
                _R.c.recorded_at < until,
                is_newest(),
            )
            .order_by(_R.c.recorded_at.desc())
            .limit(MOST_VOIDED)
        )
        with self._reading() as connection:
            found = connection.execute(query).all()
        stands_on = self._stands_on(min((row.made_at for row in found), default=None))
        return [
            Voided(
                row.number,
                row.recorded_at,
                row.recorded_by,
                row.voided,
                tuple(stands_on.get(row.number, ())),
            )
            for row in found
        ]

    def _stands_on(self, since: datetime | None) -> dict[int, list[str]]:
        """Return the joints by the coupons that their newest release was given on."""
        if since is None:
            return {}
        query = (
            select(release, job.c.number.label("job"), joint.c.name.label("joint"))
            .join(joint, joint.c.id == release.c.joint_id)
            .join(job, job.c.id == joint.c.job_id)
            .where(release.c.shop_id == self._shop, release.c.released_at >= since)
            .order_by(release.c.released_at.desc(), release.c.id.desc())
            .limit(MOST_RELEASES)
        )
        newest: dict[int, Any] = {}
        with self._reading() as connection:
            for row in connection.execute(query).mappings():
                newest.setdefault(row["joint_id"], row)
        found: dict[int, list[str]] = defaultdict(list)
        for row in newest.values():
            for each in release_from(row).evidence:
                found[each.number].append(f"{row['job']} · {row['joint']}")
        return found

    def waiting(self, now: datetime | None = None) -> list[Waiting]:
        """Return the newest joints of open jobs as they stand now, at most `MOST_JOINTS`."""
        now = now or datetime.now(UTC)
        newest = list(self.joint_names())[-MOST_JOINTS:]
        rules = self.rules().coverage
        states = self.states_of([self.joint(number) for number in newest], now)
        return [Waiting(state.stored, state, _ends_at(state, rules)) for state in states]

    def caps(self) -> list[Caps]:
        """Return how long the caps of each machine have been welded with."""
        return [self._caps(gun.name) for gun in self.machines()]

    def _caps(self, name: str) -> Caps:
        r = _R.c
        with self._reading() as connection:
            gun = self._need(connection, machine, name)
            begun = self._newest(connection, gun.id, FITTED, DRESSED)
            if begun is None:
                return Caps(name, None, None, counted=False)
            # Voided coupons were welded too.
            mine = (r.shop_id == self._shop, r.machine_id == gun.id, is_newest())
            query = (
                select(r.welds_since_dressing)
                .where(*mine, r.made_at >= begun.at)
                .order_by(r.made_at.desc(), r.id.desc())
                .limit(MOST_COUNTED)
            )
            said = connection.execute(query).scalars().all()
        place = next((n for n, count in enumerate(said) if count is not None), None)
        if place is None:
            return Caps(name, len(said), begun.at, counted=False)
        return Caps(name, (said[place] or 0) + place, begun.at, counted=True)


def _released(number: int, each: Release, state: JointState) -> Released:
    newest = state.release
    if newest is not None and newest != each:
        again = f"{newest.by}, {figure(newest.at, '%Y-%m-%d')}"
        return Released(number, state.stored.joint, each, (), again)
    return Released(number, state.stored.joint, each, state.reopened)


def _ends_at(state: JointState, rules: CoverageRules) -> datetime | None:
    """Return when a covered joint is no longer covered, by the age of its coupons."""
    coverage = state.coverage
    if coverage.state is not CoverState.COVERED:
        return None
    is_bonded = state.stored.joint.stack.is_bonded
    days = rules.bonded_days if is_bonded else rules.unbonded_days
    # The newest `wanted` of the run are enough; the oldest of those grows old first.
    made = sorted((each.coupon.made_at for each in coverage.evidence), reverse=True)
    return made[coverage.wanted - 1] + timedelta(days=days)


def expiring(waiting: Sequence[Waiting], now: datetime, soon: timedelta = SOON) -> list[Waiting]:
    """Return the joints that are covered, not released, and whose coverage ends soon."""
    return [
        each
        for each in waiting
        if each.ends_at is not None and not each.is_released and each.ends_at <= now + soon
    ]
