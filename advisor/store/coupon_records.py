"""Coupons in the log: added, corrected, voided, imported; never changed, never deleted."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select

from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import AdvisorError, InputError, RecordError
from advisor.store import rows
from advisor.store.base import is_newest
from advisor.store.coupon_reading import CouponReading
from advisor.store.joints import Joints
from advisor.store.schema import coupon, coupon_revision, interface_result, machine, welder
from advisor.store.shop_records import ShopRecords
from advisor.weld.machine import Machine

_R = coupon_revision
IMPORTED = "imported"


class CouponRecords(ShopRecords, Joints, CouponReading):
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
        self,
        new: Sequence[Coupon],
        by: str,
        now: datetime | None = None,
        origin: str = IMPORTED,
    ) -> list[int]:
        """Keep many coupons in one transaction, or none of them.

        A coupon that the log holds already, to the last figure of any of its revisions, is left
        out: the same file twice adds nothing, and brings no voided coupon back.

        Returns
        -------
        list of int
            Numbers of those that are new.

        Raises
        ------
        InputError
            The first coupon that cannot be kept, with its place in the list; nothing is kept.
        """
        if not new:
            raise InputError("there is no coupon to import")
        return self._add(new, by, now or datetime.now(UTC), origin=origin)

    def _unknown(self, connection: Connection, new: Sequence[Coupon]) -> list[Coupon]:
        """Return the coupons that no revision in the log equals."""
        moments = sorted({each.made_at for each in new})
        known: set[Coupon] = set()
        for start in range(0, len(moments), 500):
            some = _R.c.made_at.in_(moments[start : start + 500])
            found = self._load(connection, self._all_revisions().where(some))
            known.update(logged.coupon for logged in found)
        return [each for each in new if each not in known]

    def _add(self, new: Sequence[Coupon], by: str, now: datetime, origin: str = "") -> list[int]:
        with self._writing(by) as connection:
            if origin:
                new = self._unknown(connection, new)
            if not new:
                return []
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
                row.update(coupon_id=coupon_id, revision=1, voided="", why="", origin=origin)
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
        self,
        connection: Connection,
        new: Sequence[Coupon],
        by: str,
        now: datetime,
        before: Coupon | None = None,
    ) -> list[dict[str, Any]]:
        """Check and judge coupons; `before` is what a single corrected one was."""
        rules_id, rules = self._rules_id(connection, by)
        welders = self._ids(connection, welder, {each.welder for each in new})
        machines = self._ids(connection, machine, {each.machine for each in new})
        limits = {rows.name_key(m.name): m for m in self._machines(connection)}
        jobs = {name: self._spelled(connection, name) for name in {each.job for each in new}}
        stacks = self._stack_ids(connection, [each.stack for each in new])
        values = []
        for place, (each, stack_id) in enumerate(zip(new, stacks, strict=True), start=1):
            try:
                each.check_time(now)
                if not _welded_alike(each, before):
                    limits[rows.name_key(each.machine)].check(each.setting)
            except AdvisorError as error:
                if len(new) == 1:
                    raise
                raise InputError(f"coupon {place} of {len(new)}: {error}") from error
            values.append(
                {
                    **rows.coupon_values(each),
                    **rows.verdict_values(judge(each, rules.judging)),
                    "shop_id": self._shop,
                    "job": jobs[each.job],
                    "welder_id": welders[rows.name_key(each.welder)],
                    "machine_id": machines[rows.name_key(each.machine)],
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

    def _spelled(self, connection: Connection, number: str) -> str:
        """Return a job's number as the shop writes it, since coverage compares the two."""
        found = self._job(connection, number) if number.strip() else None
        return str(found.number) if found else number

    def _machines(self, connection: Connection) -> list[Machine]:
        query = select(machine).where(machine.c.shop_id == self._shop)
        return [rows.machine_from(row._mapping) for row in connection.execute(query)]

    def _ids(self, connection: Connection, table: Table, names: set[str]) -> dict[str, int]:
        query = select(table.c.name_key, table.c.id).where(table.c.shop_id == self._shop)
        found = {key: found_id for key, found_id in connection.execute(query)}
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
        """Keep a corrected coupon as a new revision; the earlier ones stay readable.

        It is judged by the rules that hold now. A voided coupon is refused.
        """
        return self._revise(number, corrected, by, why, now)

    def void_coupon(
        self, number: int, by: str, why: str, now: datetime | None = None
    ) -> LoggedCoupon:
        """Let a coupon no longer count, for good; its row stays, with who, when and why."""
        return self._revise(number, None, by, why, now)

    def _revise(
        self,
        number: int,
        corrected: Coupon | None,
        by: str,
        why: str,
        now: datetime | None,
    ) -> LoggedCoupon:
        """Append a revision: a corrected coupon, or with None the same one voided."""
        if not why.strip():
            raise InputError("a correction or a void needs its reason in a few words")
        now = now or datetime.now(UTC)
        with self._writing(by) as connection:
            before = self._one(connection, number)
            if before.voided:
                raise RecordError(
                    f"coupon #{number} is voided ({before.voided}) and stays so; log it anew if "
                    "it should count after all"
                )
            values = self._newest_values(connection, number)
            if corrected is None:
                # The verdict and its rules stay; nothing can forbid to void a wrong coupon.
                values.update(voided=why.strip())
            else:
                values.update(
                    *self._revision_values(connection, [corrected], by, now, before.coupon)
                )
            values.update(
                revision=before.revision + 1,
                why=why.strip(),
                recorded_by=by.strip(),
                recorded_at=now,
            )
            self._insert_revisions(connection, [corrected or before.coupon], [values])
            return self._one(connection, number)

    def _newest_values(self, connection: Connection, number: int) -> dict[str, Any]:
        """Return the columns of a coupon's newest revision, without its id."""
        query = (
            select(*(column for column in _R.c if column.name != "id"))
            .join(coupon, coupon.c.id == _R.c.coupon_id)
            .where(coupon.c.shop_id == self._shop, coupon.c.number == number, is_newest())
        )
        return dict(connection.execute(query).mappings().one())


def _welded_alike(new: Coupon, before: Coupon | None) -> bool:
    """Whether a correction leaves machine and setting: limits changed since do not matter."""
    return (
        before is not None
        and new.setting == before.setting
        and rows.name_key(new.machine) == rows.name_key(before.machine)
    )
