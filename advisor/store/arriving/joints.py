"""Bringing a file in: jobs and their joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Row, insert, select, update

from advisor.coupons.joint import Joint
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.log_file import Placed
from advisor.language import say
from advisor.store import rows
from advisor.store.arriving.arrival import records
from advisor.store.arriving.shelves import JOINTS
from advisor.store.arriving.shop import ShopArrival
from advisor.store.joint_rows import joint_from, joint_values
from advisor.store.schema import job, joint, machine


@dataclass
class JointHere:
    """A joint of the file as it is in the log.

    Parameters
    ----------
    id : int
        Its id.
    joint : Joint
        As it is in the log.
    in_file : Joint or None
        As the file has it, where that differs.
    """

    id: int
    joint: Joint
    in_file: Joint | None = None


class JointArrival(ShopArrival):
    """What is to be welded on the vehicles."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.job_ids: dict[str, int] = {}
        self.joints: dict[tuple[str, str], JointHere] = {}
        self._joints_of: dict[int, dict[str, JointHere]] = {}

    def bring_in_jobs(self, some: Sequence[Placed]) -> None:
        """Add the jobs that are not here, and close those that were closed in the meantime."""
        for each in records(some, r.Job):
            found = self.log._job(self.connection, each.number)
            self.count(each, is_new=found is None)
            if found is None:
                found = self._add_job(each)
            elif each.closed_at is not None and found.closed_at is None:
                mine = update(job).where(job.c.id == found.id)
                self.connection.execute(mine.values(closed_at=each.closed_at))
                self.notes.append(
                    say(
                        "job {number} was closed in the file and is closed now", number=found.number
                    )
                )
            self.names.jobs[each.number] = found.number
            self.job_ids[each.number] = found.id

    def _add_job(self, new: r.Job) -> Row[Any]:
        values = {
            "shop_id": self.shop_id,
            "number": " ".join(new.number.split()),
            "number_key": rows.name_key(new.number),
            "opened_at": new.opened_at,
            "closed_at": new.closed_at,
        }
        return self.connection.execute(insert(job).values(**values).returning(job)).one()

    def bring_in_joints(self, some: Sequence[Placed]) -> None:
        """Add the joints that their job does not have yet."""
        for each in records(some, Joint):
            job_name, gun = self.names.jobs[each.job], self.names.machines[each.machine]
            new = replace(each, job=job_name, machine=gun)
            mine = self._joints_in(self.job_ids[each.job])
            key = rows.name_key(new.name)
            self.count(each, is_new=key not in mine)
            if key not in mine:
                mine[key] = JointHere(self._add_joint(each, new), new)
            elif mine[key].joint != replace(new, name=mine[key].joint.name):
                mine[key].in_file = new
                here = mine[key].joint
                self.note_if_other(say("joint {name}", name=here.name), here, new)
            self.joints[each.job, each.name] = mine[key]

    def _joints_in(self, job_id: int) -> dict[str, JointHere]:
        if job_id not in self._joints_of:
            query = JOINTS.query.where(joint.c.job_id == job_id).order_by(joint.c.id)
            found = self.connection.execute(query).mappings()
            self._joints_of[job_id] = {
                rows.name_key(row["name"]): JointHere(row["id"], joint_from(row)) for row in found
            }
        return self._joints_of[job_id]

    def _add_joint(self, in_file: Joint, new: Joint) -> int:
        ids = (self.job_ids[in_file.job], self.machine_ids[in_file.machine])
        values = self._joint_values(new, *ids)
        added = self.connection.execute(insert(joint).values(**values).returning(joint.c.id))
        return int(added.scalar_one())

    def _joint_values(self, new: Joint, job_id: int, machine_id: int) -> dict[str, Any]:
        return {
            "shop_id": self.shop_id,
            "job_id": job_id,
            "stack_id": self.log._stack_ids(self.connection, [new.stack])[0],
            "machine_id": machine_id,
            **joint_values(new),
        }

    def joint_to_release(self, here: JointHere) -> None:
        """Make a joint that differs the one that was released, unless it is released here too.

        Raises
        ------
        InputError
            The joint was released here as it stands here.
        """
        if here.in_file is None:
            return
        if self.log._is_released(self.connection, here.id):
            raise InputError(
                say(
                    "joint {name} of job {job} was released here, and in the file as another one; "
                    "give one of the two another name, and try again",
                    name=here.joint.name,
                    job=here.joint.job,
                )
            )
        new = here.in_file
        gun = self.log._need(self.connection, machine, new.machine)
        row = self.connection.execute(select(joint).where(joint.c.id == here.id)).one()
        values = self._joint_values(new, row.job_id, gun.id)
        self.connection.execute(update(joint).where(joint.c.id == here.id).values(**values))
        before = {name: row._mapping[name] for name in values}
        what = f"joint {new.name} changed to what was released"
        self.log._log_change(self.connection, self.by, what, before, values)
        self.notes.append(
            say(
                "joint {name} of job {job} is now the one that was released",
                name=new.name,
                job=new.job,
            )
        )
        here.joint, here.in_file = new, None
