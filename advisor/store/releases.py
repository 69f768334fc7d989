"""Releases of joints: recorded with their evidence, and looked at again every time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import select

from advisor.coupons.coverage import Coverage, assess
from advisor.coupons.joint import Joint
from advisor.coupons.release import Release, release_joint, reopened
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.coupon_records import CouponRecords
from advisor.store.joint_rows import release_from, release_points, release_values
from advisor.store.joints import StoredJoint
from advisor.store.schema import release


@dataclass(frozen=True)
class JointState:
    """All that the log says about one joint now.

    Parameters
    ----------
    stored : StoredJoint
        The joint and its number.
    coverage : Coverage
        What its coupons say.
    release : Release or None
        Its newest release.
    reopened : tuple of str
        Why that release no longer stands; empty when it does.
    """

    stored: StoredJoint
    coverage: Coverage
    release: Release | None
    reopened: tuple[str, ...]

    @property
    def is_released(self) -> bool:
        """Whether a release stands."""
        return self.release is not None and not self.reopened


class Releases(CouponRecords):
    """Coverage and release of the joints of a shop."""

    def coverage(self, joint: Joint, now: datetime | None = None) -> Coverage:
        """Return what the coupons of the log say about a joint."""
        now, rules = now or datetime.now(UTC), self.rules().coverage
        coupons = self.coupons_for_joint(joint, now, rules.thickness_tolerance_mm)
        return assess(joint, self.bench(joint.machine), coupons, rules, now)

    def joint_states(self, job: str | None = None, now: datetime | None = None) -> list[JointState]:
        """Return the state of every joint of a job, or of all jobs."""
        return self.states_of(self.joints(job), now)

    def states_of(
        self, joints: Sequence[StoredJoint], now: datetime | None = None
    ) -> list[JointState]:
        """Return the state of some joints; what they share is read once."""
        now = now or datetime.now(UTC)
        rules = self.rules().coverage
        benches = {name: self.bench(name) for name in {each.joint.machine for each in joints}}
        found = []
        for stored in joints:
            joint = stored.joint
            coupons = self.coupons_for_joint(joint, now, rules.thickness_tolerance_mm)
            coverage = assess(joint, benches[joint.machine], coupons, rules, now)
            found.append(self._state(stored, coverage))
        return found

    def _state(self, stored: StoredJoint, coverage: Coverage) -> JointState:
        newest = self._newest_release(stored.id)
        if newest is None:
            return JointState(stored, coverage, None, ())
        evidence = {each.number: self.coupon(each.number) for each in newest.evidence}
        return JointState(stored, coverage, newest, reopened(newest, evidence, coverage))

    def _newest_release(self, joint_id: int) -> Release | None:
        query = (
            select(release)
            .where(release.c.shop_id == self._shop, release.c.joint_id == joint_id)
            .order_by(release.c.released_at.desc(), release.c.id.desc())
            .limit(1)
        )
        with self._reading() as connection:
            row = connection.execute(query).mappings().one_or_none()
        return None if row is None else release_from(row)

    def release(
        self, joint_id: int, by: str, note: str = "", now: datetime | None = None
    ) -> Release:
        """Release a covered joint; the evidence is frozen with it.

        Raises
        ------
        RecordError
            No such joint, or it is not covered now; nothing is recorded.
        """
        now = now or datetime.now(UTC)
        with self._writing(by, Act.BENCH) as connection:
            # Read while writers wait, so that no coupon is voided in between.
            joint = self.joint(joint_id).joint
            coverage = self.coverage(joint, now)
            new = release_joint(coverage, by, now, note)
            if any(rows.name_key(c.coupon.welder) != rows.name_key(by) for c in coverage.evidence):
                self._may(connection, by, Act.RELEASE_ANOTHERS)
            values = {"joint_id": joint_id, **release_values(new)}
            self._append(connection, release, values, **release_points(joint_id, joint))
        return new
