"""Jobs and their joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, insert, select, update

from advisor.coupons.joint import Joint
from advisor.errors import InputError, RecordError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.base import Base
from advisor.store.joint_rows import joint_from, joint_values
from advisor.store.race import ANYTHING, check_start
from advisor.store.schema import job, joint, machine, release, stack
from advisor.weld.stack import Stack


@dataclass(frozen=True)
class StoredJoint:
    """A joint and the number it is stored under."""

    id: int
    joint: Joint


class Joints(Base):
    """What is to be welded on the vehicles."""

    def jobs(self, *, open_only: bool = True) -> list[str]:
        """Return the repair orders, newest first."""
        query = select(job.c.number).where(job.c.shop_id == self._shop)
        if open_only:
            query = query.where(job.c.closed_at.is_(None))
        with self._reading() as connection:
            newest = query.order_by(job.c.opened_at.desc(), job.c.id.desc())
            return list(connection.execute(newest).scalars())

    def close_job(self, number: str, by: str) -> None:
        """Close a job; its joints and coupons stay."""
        with self._writing(by, Act.BENCH) as connection:
            found = self._job(connection, number)
            if found is None:
                raise RecordError(say("no job has the number {number!r}", number=number))
            connection.execute(
                update(job).where(job.c.id == found.id).values(closed_at=datetime.now(UTC))
            )
            self._log_change(connection, by, f"job {number} closed", None, None)

    def job_opened_at(self, number: str) -> datetime:
        """Return when a job was opened; `RecordError` when there is none."""
        with self._reading() as connection:
            found = self._job(connection, number)
        if found is None:
            raise RecordError(say("no job has the number {number!r}", number=number))
        opened: datetime = found.opened_at
        return opened

    def _job(self, connection: Connection, number: str) -> Row[Any] | None:
        """Find a job by its number, whatever its case and spaces."""
        mine = select(job).where(job.c.shop_id == self._shop)
        alike = mine.where(job.c.number_key == rows.name_key(number)).order_by(
            job.c.number != number, job.c.id
        )
        return connection.execute(alike.limit(1)).one_or_none()

    def joint(self, joint_id: int) -> StoredJoint:
        """Return one joint; `RecordError` when the shop has no such number."""
        mine = (joint.c.shop_id == self._shop, joint.c.id == joint_id)
        with self._reading() as connection:
            row = connection.execute(_joints().where(*mine)).one_or_none()
        if row is None:
            raise RecordError(say("no joint has the number {number}", number=joint_id))
        return _stored(row)

    def joints(self, number: str | None = None) -> list[StoredJoint]:
        """Return the joints of a job, or of all jobs, in the order they were entered."""
        query = _joints().where(joint.c.shop_id == self._shop).order_by(joint.c.id)
        with self._reading() as connection:
            if number is not None:
                found = self._job(connection, number)
                query = query.where(job.c.id == (found.id if found else None))
            return [_stored(row) for row in connection.execute(query)]

    def joint_names(self) -> dict[int, str]:
        """Return job and name of every joint of an open job by its number, nothing else read."""
        query = (
            select(joint.c.id, job.c.number, joint.c.name)
            .join(job, job.c.id == joint.c.job_id)
            .where(joint.c.shop_id == self._shop, job.c.closed_at.is_(None))
            .order_by(joint.c.id)
        )
        with self._reading() as connection:
            return {row.id: f"{row.number} · {row.name}" for row in connection.execute(query)}

    def save_joint(
        self,
        new: Joint,
        by: str,
        joint_id: int | None = None,
        started_from: object = ANYTHING,
    ) -> int:
        """Add a joint, or change one; a new job is opened on the way. Returns its number.

        Parameters
        ----------
        new : Joint
            The joint as it is to be.
        by : str
            Who writes it down.
        joint_id : int, optional
            Number of the joint that is changed.
        started_from : Joint, optional
            The joint as the form found it; when it was changed since, `LostRaceError`.
        """
        with self._writing(by, Act.BENCH) as connection:
            values: dict[str, Any] = {
                "shop_id": self._shop,
                "job_id": self._open_job(connection, new.job),
                "stack_id": self._stack_ids(connection, [new.stack])[0],
                "machine_id": self._need(connection, machine, new.machine).id,
                **joint_values(new),
            }
            self._check_name(connection, values["job_id"], new, joint_id)
            if joint_id is None:
                added = connection.execute(insert(joint).values(**values).returning(joint.c.id))
                found = int(added.scalar_one())
                self._log_change(connection, by, f"joint {new.name} added", None, values)
                return found
            mine = (joint.c.id == joint_id, joint.c.shop_id == self._shop)
            old = connection.execute(_joints().where(*mine)).one_or_none()
            if old is None:
                raise RecordError(say("no joint has the number {number}", number=joint_id))
            check_start(say("joint {name}", name=old.name), started_from, _stored(old).joint, new)
            self._check_unreleased(connection, joint_id, old.name)
            connection.execute(update(joint).where(*mine).values(**values))
            before = {name: old._mapping[name] for name in values}
            self._log_change(connection, by, f"joint {new.name} changed", before, values)
            return joint_id

    def _is_released(self, connection: Connection, joint_id: int) -> bool:
        """Whether somebody has ever put their name to a joint."""
        released = select(release.c.id).where(release.c.joint_id == joint_id).limit(1)
        return connection.execute(released).first() is not None

    def _check_unreleased(self, connection: Connection, joint_id: int, name: str) -> None:
        """Refuse to change what somebody has put their name to."""
        if self._is_released(connection, joint_id):
            raise RecordError(
                say(
                    "joint {name} was released as it stands; enter what differs as a joint of its "
                    "own",
                    name=name,
                )
            )

    def _check_name(
        self, connection: Connection, job_id: int, new: Joint, joint_id: int | None
    ) -> None:
        """Refuse a second joint of one name in a job: nobody could tell them apart."""
        known = connection.execute(select(joint.c.id, joint.c.name).where(joint.c.job_id == job_id))
        for known_id, name in known:
            if known_id != joint_id and rows.name_key(name) == rows.name_key(new.name):
                raise InputError(
                    say(
                        "job {job} has a joint called {name} already; give this one a name that "
                        "tells them apart, such as where it is and whether the adhesive is cured",
                        job=new.job,
                        name=name,
                    )
                )

    def _open_job(self, connection: Connection, number: str) -> int:
        found = self._job(connection, number)
        if found is not None:
            if found.closed_at is not None:
                raise RecordError(
                    say("job {number} is closed; give the joint to an open job", number=number)
                )
            return int(found.id)
        added = connection.execute(
            insert(job)
            .values(
                shop_id=self._shop,
                number=" ".join(number.split()),
                number_key=rows.name_key(number),
                opened_at=datetime.now(UTC),
            )
            .returning(job.c.id)
        )
        return int(added.scalar_one())

    def _stack_ids(self, connection: Connection, stacks: Sequence[Stack]) -> list[int]:
        """Return the stored ids of stacks, adding those that are new."""
        marks = [rows.stack_values(each)["fingerprint"] for each in stacks]
        wanted = dict(zip(marks, stacks, strict=True))
        here = {"shop": self._shop, "marks": list(wanted)}
        ids = {mark: found for mark, found in connection.execute(_STACK_IDS, here)}
        for mark in wanted.keys() - ids.keys():
            values = rows.stack_values(wanted[mark])
            added = insert(stack).values(shop_id=self._shop, **values).returning(stack.c.id)
            ids[mark] = connection.execute(added).scalar_one()
        return [ids[mark] for mark in marks]


_STACK_IDS = select(stack.c.fingerprint, stack.c.id).where(
    stack.c.shop_id == bindparam("shop"),
    stack.c.fingerprint.in_(bindparam("marks", expanding=True)),
)


def _joints() -> Select[Any]:
    return (
        select(
            joint,
            job.c.number.label("job"),
            machine.c.name.label("machine"),
            stack.c.body,
        )
        .join(job, job.c.id == joint.c.job_id)
        .join(machine, machine.c.id == joint.c.machine_id)
        .join(stack, stack.c.id == joint.c.stack_id)
    )


def _stored(row: Row[Any]) -> StoredJoint:
    return StoredJoint(row.id, joint_from(row._mapping))
