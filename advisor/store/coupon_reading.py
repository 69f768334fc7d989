"""Coupons read from the log: one, one's history, the newest, those for a joint, all in turn.

Only newest revisions are read, save for a history.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, select

from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.matching import stack_differences
from advisor.coupons.rules import CoverageRules, ShopRules
from advisor.errors import RecordError
from advisor.language import say
from advisor.store import rows
from advisor.store.base import Base, is_newest
from advisor.store.schema import (
    coupon,
    coupon_revision,
    interface_result,
    machine,
    stack,
    welder,
)
from advisor.store.schema import rules as rules_table
from advisor.weld.stack import Stack

_R = coupon_revision
#: Coupons read at most for one joint, like it and near it, and for one machine; older ones say
#: nothing new.
MOST_ALIKE, MOST_NEAR, MOST_FOR_LEARNING = 30, 12, 2000
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
    rules : ShopRules
        The shop's rules it was judged by.
    """

    by: str
    at: datetime
    why: str
    logged: LoggedCoupon
    rules: ShopRules


class CouponReading(Base):
    """The coupons of a shop, to be read."""

    def coupon(self, number: int) -> LoggedCoupon:
        """Return one coupon; `RecordError` when the shop has no such number."""
        with self._reading() as connection:
            return self._one(connection, number)

    def _one(self, connection: Connection, number: int) -> LoggedCoupon:
        found = self._load(connection, self._newest_revisions(coupon.c.number == number))
        if not found:
            raise RecordError(say("there is no coupon #{number}", number=number))
        return found[0]

    def history(self, number: int) -> list[Revision]:
        """Return all revisions of a coupon, first entry first."""
        with self._reading() as connection:
            query = self._all_revisions().where(coupon.c.number == number).order_by(_R.c.revision)
            found = connection.execute(query).mappings().all()
            logged = self._with_results(connection, found)
            ids = {row["rules_id"] for row in found}
            judged_by = {
                row.id: rows.rules_from(row.body)
                for row in connection.execute(select(rules_table).where(rules_table.c.id.in_(ids)))
            }
        return [
            Revision(
                row["recorded_by"], row["recorded_at"], row["why"], each, judged_by[row["rules_id"]]
            )
            for row, each in zip(found, logged, strict=True)
        ]

    def recent_coupons(
        self,
        limit: int = 20,
        *,
        machine_name: str | None = None,
        welder_name: str | None = None,
        job: str | None = None,
    ) -> list[LoggedCoupon]:
        """Return the newest coupons, voided ones included."""
        conditions = named(machine_name, welder_name)
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

    def newest_of(self, stack_welded: Stack, machine_name: str) -> LoggedCoupon | None:
        """Return the newest coupon of a stack on a machine that counts; None when there is none."""
        query = self._newest_revisions(
            stack.c.fingerprint == rows.stack_values(stack_welded)["fingerprint"],
            machine.c.name_key == rows.name_key(machine_name),
            _R.c.voided == "",
        )
        with self._reading() as connection:
            return next(iter(self._load(connection, _newest_first(query).limit(1))), None)

    def coupons_for_joint(
        self,
        joint: Joint,
        now: datetime | None = None,
        tolerance_mm: float = CoverageRules().thickness_tolerance_mm,
    ) -> list[LoggedCoupon]:
        """Return the coupons that could speak for a joint, or come nearest to it.

        No rule of coverage lets a coupon count that is not of the joint's job and older than 60
        days. First those of a stack like the joint's, its own machine before others; then a few of
        its machine with as many sheets, and a few of its job, for the nearest one that differs.

        Parameters
        ----------
        joint : Joint
            The joint.
        now : datetime, optional
            Moment of asking; the clock's when left out.
        tolerance_mm : float
            How much a thickness may differ. [mm]
        """
        since = (now or datetime.now(UTC)) - _LOOK_BACK
        of_job, young = _R.c.job == joint.job, _R.c.made_at >= since
        mine = machine.c.name_key == rows.name_key(joint.machine)
        as_many = stack.c.sheets == len(joint.stack.sheets)
        with self._reading() as connection:
            alike = _R.c.stack_id.in_(self._stacks_like(connection, joint.stack, tolerance_mm))
            # Each part by an index of its own; one query with "or" would read the whole 60 days.
            parts = [
                ((alike, mine, young), MOST_ALIKE),
                *[((alike, mine, young, at), MOST_ALIKE) for at in _at_setting(joint)],
                ((alike, young), MOST_NEAR),
                ((mine, as_many, young), MOST_NEAR),
                ((of_job,), MOST_ALIKE),
            ]
            found: dict[int, LoggedCoupon] = {}
            for conditions, most in parts:
                query = _newest_first(self._newest_revisions(*conditions)).limit(most)
                for each in self._load(connection, query):
                    found.setdefault(each.number, each)
        return list(found.values())

    def _stacks_like(self, connection: Connection, wanted: Stack, tolerance_mm: float) -> list[int]:
        """Return the stored stacks that a coupon for a joint may have."""
        query = select(stack.c.id, stack.c.body).where(
            stack.c.shop_id == self._shop,
            stack.c.sheets == len(wanted.sheets),
            stack.c.adhesive_state == wanted.adhesive_state.value,
        )
        return [
            row.id
            for row in connection.execute(query)
            if not stack_differences(
                wanted, rows.stack_from(row.body, turned_over=False), tolerance_mm
            )
        ]

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


def _at_setting(joint: Joint) -> list[ColumnElement[bool]]:
    """Return the condition for a joint's planned setting, nothing where none is planned."""
    if joint.setting is None:
        return []
    steps = joint.setting.main_steps()
    return [and_(*(_R.c[name].between(v - step, v + step) for name, v, step in steps))]


def named(machine_name: str | None, welder_name: str | None) -> list[ColumnElement[bool]]:
    """Return the conditions for one machine's and one welder's coupons; None for all."""
    pairs = ((machine, machine_name), (welder, welder_name))
    return [table.c.name_key == rows.name_key(name) for table, name in pairs if name is not None]


def _newest_first(query: Select[Any]) -> Select[Any]:
    return query.order_by(_R.c.made_at.desc(), _R.c.id.desc())
