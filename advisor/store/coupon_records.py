"""Coupons in the log: added, corrected, voided, imported; never changed, never deleted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, insert, or_, select

from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import AdvisorError, InputError, RecordError
from advisor.store import rows
from advisor.store.joints import Joints
from advisor.store.schema import (
    coupon,
    coupon_revision,
    interface_result,
    machine,
    stack,
    welder,
)
from advisor.store.shop_records import ShopRecords

_R = coupon_revision
#: Coupons read for one joint or one machine at most; older ones say nothing new.
MOST_FOR_A_JOINT, MOST_FOR_LEARNING = 500, 2000
_LOOK_BACK = timedelta(days=60)


@dataclass(frozen=True)
class Revision:
    """One revision of a coupon.

    Parameters
    ----------
    by : str
        Who wrote it down.
    at : datetime
        When it was written down.
    why : str
        Why it was corrected or voided; empty for the first entry.
    logged : LoggedCoupon
        The coupon as this revision has it.
    """

    by: str
    at: datetime
    why: str
    logged: LoggedCoupon


class CouponRecords(ShopRecords, Joints):
    """The coupons of a shop."""

    def add_coupon(self, new: Coupon, by: str, now: datetime | None = None) -> LoggedCoupon:
        """Judge a coupon by the rules that hold now and keep it.

        Parameters
        ----------
        new : Coupon
            What was welded and found.
        by : str
            Who writes it down.
        now : datetime, optional
            Moment of writing; the clock's when left out.

        Returns
        -------
        LoggedCoupon
            Its number and verdict.

        Raises
        ------
        InputError, LimitError, RecordError
            From the future, beyond the machine, or an unknown welder or machine; nothing is kept.
        """
        numbers = self._add([new], by, now or datetime.now(UTC))
        return self.coupon(numbers[0])

    def import_coupons(
        self, new: Sequence[Coupon], by: str, now: datetime | None = None
    ) -> list[int]:
        """Keep many coupons in one transaction, or none of them.

        Returns
        -------
        list of int
            Their numbers.

        Raises
        ------
        InputError
            The first coupon that cannot be kept, with its place in the list; nothing is kept.
        """
        if not new:
            raise InputError("there is no coupon to import")
        return self._add(new, by, now or datetime.now(UTC))

    def _add(self, new: Sequence[Coupon], by: str, now: datetime) -> list[int]:
        with self._writing(by) as connection:
            values = self._revision_values(connection, new, by, now)
            c = coupon.c
            last = connection.execute(
                select(func.coalesce(func.max(c.number), 0)).where(c.shop_id == self._shop)
            ).scalar_one()
            numbers = list(range(last + 1, last + 1 + len(new)))
            ids = connection.execute(
                insert(coupon).returning(c.id, sort_by_parameter_order=True),
                [{"shop_id": self._shop, "number": number} for number in numbers],
            ).scalars()
            for row, coupon_id in zip(values, ids.all(), strict=True):
                row.update(coupon_id=coupon_id, revision=1, voided="", why="")
            self._insert_revisions(connection, new, values)
        return numbers

    def _insert_revisions(
        self, connection: Connection, new: Sequence[Coupon], values: list[dict[str, Any]]
    ) -> None:
        ids = connection.execute(
            insert(_R).returning(_R.c.id, sort_by_parameter_order=True), values
        ).scalars()
        connection.execute(
            insert(interface_result),
            [
                {"coupon_revision_id": revision_id, "shop_id": self._shop, **result}
                for revision_id, each in zip(ids.all(), new, strict=True)
                for result in rows.result_values(each)
            ],
        )

    def _revision_values(
        self, connection: Connection, new: Sequence[Coupon], by: str, now: datetime
    ) -> list[dict[str, Any]]:
        rules_id, rules = self._rules_id(connection, by)
        welders = self._ids(connection, welder, {each.welder for each in new})
        machines = self._ids(connection, machine, {each.machine for each in new})
        limits = {m.name: m for m in self._machines(connection)}
        stacks = self._stack_ids(connection, [each.stack for each in new])
        values = []
        for place, (each, stack_id) in enumerate(zip(new, stacks, strict=True), start=1):
            try:
                each.check_time(now)
                name = machines[rows.name_key(each.machine)][1]
                limits[name].check(each.setting)
            except AdvisorError as error:
                if len(new) == 1:
                    raise
                raise InputError(f"coupon {place} of {len(new)}: {error}") from error
            values.append(
                {
                    **rows.coupon_values(each),
                    **rows.verdict_values(judge(each, rules.judging)),
                    "shop_id": self._shop,
                    "welder_id": welders[rows.name_key(each.welder)][0],
                    "machine_id": machines[rows.name_key(each.machine)][0],
                    "stack_id": stack_id,
                    "rules_id": rules_id,
                    "recorded_by": by.strip(),
                    "recorded_at": now,
                }
            )
        return values

    def _rules_id(self, connection: Connection, by: str) -> tuple[int, ShopRules]:
        newest = self._newest_rules(connection)
        if newest is not None:
            return newest.id, rows.rules_from(newest.body)
        return self._add_rules(connection, ShopRules(), by), ShopRules()

    def _machines(self, connection: Connection) -> list[Any]:
        query = select(machine).where(machine.c.shop_id == self._shop)
        return [rows.machine_from(row._mapping) for row in connection.execute(query)]

    def _ids(
        self, connection: Connection, table: Any, names: set[str]
    ) -> dict[str, tuple[int, str]]:
        query = select(table.c.name_key, table.c.id, table.c.name)
        found = {
            key: (found_id, name)
            for key, found_id, name in connection.execute(
                query.where(table.c.shop_id == self._shop)
            )
        }
        unknown = sorted(name for name in names if rows.name_key(name) not in found)
        if unknown:
            raise InputError(
                f"no {table.name} is called {' or '.join(unknown)}; add the name under Shop "
                "set-up, or correct it; nothing was kept"
            )
        return found

    def correct_coupon(
        self, number: int, corrected: Coupon, by: str, why: str, now: datetime | None = None
    ) -> LoggedCoupon:
        """Keep a corrected coupon as a new revision; the earlier ones stay readable."""
        return self._revise(number, corrected, by, why, now, voided="")

    def void_coupon(
        self, number: int, by: str, why: str, now: datetime | None = None
    ) -> LoggedCoupon:
        """Let a coupon no longer count; its row stays, with who, when and why."""
        return self._revise(number, None, by, why, now, voided=why.strip())

    def _revise(
        self,
        number: int,
        corrected: Coupon | None,
        by: str,
        why: str,
        now: datetime | None,
        *,
        voided: str,
    ) -> LoggedCoupon:
        if not why.strip():
            raise InputError("a correction or a void needs its reason in a few words")
        with self._writing(by) as connection:
            before = self._one(connection, number)
            new = corrected or before.coupon
            (values,) = self._revision_values(connection, [new], by, now or datetime.now(UTC))
            if voided:
                values.update(rows.verdict_values(before.verdict))
            coupon_id = connection.execute(
                select(coupon.c.id).where(coupon.c.shop_id == self._shop, coupon.c.number == number)
            ).scalar_one()
            values.update(
                coupon_id=coupon_id,
                revision=before.revision + 1,
                voided=voided,
                why=why.strip(),
            )
            self._insert_revisions(connection, [new], [values])
            return self._one(connection, number)

    def coupon(self, number: int) -> LoggedCoupon:
        """Return one coupon; `RecordError` when the shop has no such number."""
        with self._reading() as connection:
            return self._one(connection, number)

    def _one(self, connection: Connection, number: int) -> LoggedCoupon:
        found = self._load(connection, self._newest_revisions(coupon.c.number == number))
        if not found:
            raise RecordError(f"there is no coupon #{number}")
        return found[0]

    def history(self, number: int) -> list[Revision]:
        """Return all revisions of a coupon, first entry first."""
        with self._reading() as connection:
            query = self._all_revisions().where(coupon.c.number == number).order_by(_R.c.revision)
            found = connection.execute(query).mappings().all()
            logged = self._with_results(connection, found)
        return [
            Revision(row["recorded_by"], row["recorded_at"], row["why"], each)
            for row, each in zip(found, logged, strict=True)
        ]

    def recent_coupons(
        self,
        limit: int = 20,
        *,
        machine_name: str | None = None,
        job: str | None = None,
    ) -> list[LoggedCoupon]:
        """Return the newest coupons, voided ones included."""
        conditions = []
        if machine_name is not None:
            conditions.append(machine.c.name_key == rows.name_key(machine_name))
        if job is not None:
            conditions.append(_R.c.job == job)
        query = self._newest_revisions(*conditions)
        with self._reading() as connection:
            return self._load(connection, _newest_first(query).limit(limit))

    def coupons_for_learning(self, machine_name: str) -> list[LoggedCoupon]:
        """Return the coupons of one machine that count, newest first."""
        query = self._newest_revisions(
            machine.c.name_key == rows.name_key(machine_name), _R.c.voided == ""
        )
        with self._reading() as connection:
            return self._load(connection, _newest_first(query).limit(MOST_FOR_LEARNING))

    def coupons_for_joint(self, joint: Joint, now: datetime | None = None) -> list[LoggedCoupon]:
        """Return the coupons that could speak for a joint, or come nearest to it.

        Those of its job, and those of the last 60 days with as many sheets: no rule of coverage
        lets an older coupon count.
        """
        since = (now or datetime.now(UTC)) - _LOOK_BACK
        query = self._newest_revisions(
            or_(
                _R.c.job == joint.job,
                (stack.c.sheets == len(joint.stack.sheets)) & (_R.c.made_at >= since),
            )
        )
        with self._reading() as connection:
            return self._load(connection, _newest_first(query).limit(MOST_FOR_A_JOINT))

    def iter_coupons(self, at_once: int = 1000) -> Iterator[LoggedCoupon]:
        """Walk all coupons in the order of their numbers, a few at a time."""
        last = 0
        while True:
            query = self._newest_revisions(coupon.c.number > last).order_by(coupon.c.number)
            with self._reading() as connection:
                found = self._load(connection, query.limit(at_once))
            yield from found
            if len(found) < at_once:
                return
            last = found[-1].number

    def _all_revisions(self) -> Select[Any]:
        return (
            select(
                _R,
                coupon.c.number,
                welder.c.name.label("welder"),
                machine.c.name.label("machine"),
                stack.c.body,
            )
            .join(coupon, coupon.c.id == _R.c.coupon_id)
            .join(welder, welder.c.id == _R.c.welder_id)
            .join(machine, machine.c.id == _R.c.machine_id)
            .join(stack, stack.c.id == _R.c.stack_id)
            .where(_R.c.shop_id == self._shop, coupon.c.shop_id == self._shop)
        )

    def _newest_revisions(self, *conditions: ColumnElement[bool]) -> Select[Any]:
        return self._all_revisions().where(is_newest(), *conditions)

    def _load(self, connection: Connection, query: Select[Any]) -> list[LoggedCoupon]:
        return self._with_results(connection, connection.execute(query).mappings().all())

    def _with_results(self, connection: Connection, found: Sequence[Any]) -> list[LoggedCoupon]:
        results: dict[int, list[Any]] = {}
        ids = [row["id"] for row in found]
        i = interface_result.c
        for start in range(0, len(ids), 500):
            query = (
                select(interface_result)
                .where(i.coupon_revision_id.in_(ids[start : start + 500]))
                .order_by(i.coupon_revision_id, i.position)
            )
            read = connection.execute(query).mappings()
            for revision_id, group in groupby(read, key=lambda r: r["coupon_revision_id"]):
                results[revision_id] = [rows.result_from(each) for each in group]
        return [rows.logged_from(row, results[row["id"]]) for row in found]


def is_newest() -> ColumnElement[bool]:
    """Return the condition that a revision has no newer one."""
    newer = coupon_revision.alias("newer")
    return ~(
        select(newer.c.id)
        .where(newer.c.coupon_id == _R.c.coupon_id, newer.c.revision > _R.c.revision)
        .exists()
    )


def _newest_first(query: Select[Any]) -> Select[Any]:
    return query.order_by(_R.c.made_at.desc(), _R.c.id.desc())
