"""What a bonded job needs besides coupons: checks, the maker's recommendation, templates."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import delete, insert, select, update

from advisor.bonding.preparation import Answer, Checked
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.errors import InputError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.joint_rows import (
    as_welded,
    checked_from,
    checked_values,
    recommendation_points,
    recommendation_values,
    usual_from,
)
from advisor.store.joints import Joints
from advisor.store.schema import (
    joint_template,
    machine,
    maker_recommendation,
    preparation_check,
    stack,
)
from advisor.weld.stack import Stack


class BondedJobs(Joints):
    """Preparation checks of joints, recommendations of welder makers, and usual joints."""

    def add_check(
        self,
        joint_id: int,
        key: str,
        answer: Answer,
        measured: float | None,
        by: str,
        now: datetime | None = None,
    ) -> Checked:
        """Write down an answer to a preparation check; earlier ones stay.

        Raises
        ------
        RecordError
            No such joint.
        InputError
            No such check, or its reading is missing.
        """
        self.joint(joint_id)
        new = Checked(key, answer, measured, by.strip(), now or datetime.now(UTC))
        with self._writing(by, Act.BENCH) as connection:
            self._append(
                connection,
                preparation_check,
                {"joint_id": joint_id, **checked_values(new)},
                joint=joint_id,
            )
        return new

    def checks(self, joint_id: int) -> tuple[Checked, ...]:
        """Return every answer to the checks of a joint, oldest first."""
        query = (
            select(preparation_check)
            .where(
                preparation_check.c.shop_id == self._shop, preparation_check.c.joint_id == joint_id
            )
            .order_by(preparation_check.c.id)
        )
        with self._reading() as connection:
            return tuple(checked_from(row) for row in connection.execute(query).mappings())

    def add_recommendation(self, new: MakerRecommendation) -> None:
        """Write down what the welder maker recommends; earlier ones stay, the newest counts."""
        new = replace(
            new,
            document=new.document.strip(),
            page=new.page.strip(),
            settings=new.settings.strip(),
            by=new.by.strip(),
        )
        with self._writing(new.by, Act.BENCH) as connection:
            found = self._need(connection, machine, new.machine)
            ids = {
                "machine_id": found.id,
                "stack_id": self._stack_ids(connection, [new.stack])[0],
            }
            points_at = recommendation_points(new, found.name)
            values = {**ids, **recommendation_values(new)}
            self._append(connection, maker_recommendation, values, **points_at)

    def recommendation(self, machine_name: str, wanted: Stack) -> MakerRecommendation | None:
        """Return the newest recommendation for a machine and a stack, None where there is none."""
        query = (
            select(maker_recommendation)
            .join(machine, machine.c.id == maker_recommendation.c.machine_id)
            .join(stack, stack.c.id == maker_recommendation.c.stack_id)
            .where(
                maker_recommendation.c.shop_id == self._shop,
                machine.c.name == machine_name,
                stack.c.fingerprint == rows.stack_values(wanted)["fingerprint"],
            )
            .order_by(maker_recommendation.c.id.desc())
            .limit(1)
        )
        with self._reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        return MakerRecommendation(
            machine_name,
            wanted,
            row.document,
            row.page,
            row.settings,
            row.recorded_by,
            row.recorded_at,
        )

    def save_template(self, name: str, usual: Joint, by: str) -> None:
        """Keep a joint as one of the shop's usual ones; the same name replaces the old one.

        Parameters
        ----------
        name : str
            What the shop calls it.
        usual : Joint
            Its stack, machine and original welds are kept; its job is not.
        by : str
            Who keeps it.
        """
        if not name.strip():
            raise InputError(say("the usual joint has no name; say what the shop calls it"))
        with self._writing(by, Act.BENCH) as connection:
            values: dict[str, Any] = {
                "name": " ".join(name.split()),
                "stack_id": self._stack_ids(connection, [usual.stack])[0],
                "machine_id": self._need(connection, machine, usual.machine).id,
                **as_welded(usual),
            }
            old = self._find(connection, joint_template, name)
            if old is None:
                connection.execute(
                    insert(joint_template).values(
                        shop_id=self._shop, name_key=rows.name_key(name), **values
                    )
                )
            else:
                connection.execute(
                    update(joint_template).where(joint_template.c.id == old.id).values(**values)
                )
            before = None if old is None else dict(old._mapping)
            self._log_change(connection, by, f"usual joint {name} kept", before, values)

    def drop_template(self, name: str, by: str) -> None:
        """Drop a usual joint; joints made from it stay."""
        with self._writing(by, Act.BENCH) as connection:
            old = self._need(connection, joint_template, name)
            connection.execute(delete(joint_template).where(joint_template.c.id == old.id))
            self._log_change(
                connection, by, f"usual joint {name} dropped", dict(old._mapping), None
            )

    def templates(self) -> dict[str, Joint]:
        """Return the shop's usual joints by name; their job is the word ``usual``."""
        query = (
            select(joint_template, machine.c.name.label("machine"), stack.c.body)
            .join(machine, machine.c.id == joint_template.c.machine_id)
            .join(stack, stack.c.id == joint_template.c.stack_id)
            .where(joint_template.c.shop_id == self._shop)
            .order_by(joint_template.c.name_key)
        )
        with self._reading() as connection:
            return {row["name"]: usual_from(row) for row in connection.execute(query).mappings()}
