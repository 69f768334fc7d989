"""How a revision of a coupon is judged, sealed, written and counted, one or a million at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Table, bindparam, func, insert, select, text

from advisor.coupons.coupon import Coupon
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.purpose import purpose_of
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import Verdict, judge
from advisor.errors import AdvisorError, InputError
from advisor.language import ENGLISH, listed, msg, say, speaking
from advisor.people.roles import Act
from advisor.store import quick, rows, tally
from advisor.store.coupon_reading import CouponReading
from advisor.store.joints import Joints
from advisor.store.schema import coupon, coupon_revision, interface_result, machine, welder
from advisor.store.schema import foretold as foretold_table
from advisor.store.schema import rules as rules_table
from advisor.store.seals import Chain
from advisor.store.series import give_purposes
from advisor.store.shop_records import ShopRecords
from advisor.weld.machine import Machine

_R = coupon_revision
_UNKNOWN = {
    welder.name: msg(
        "no welder is called {names}; add the name under Shop set-up, or correct it; nothing was "
        "kept"
    ),
    machine.name: msg(
        "no machine is called {names}; add the name under Shop set-up, or correct it; nothing was "
        "kept"
    ),
}
_INSERT_RESULTS = insert(interface_result)
_LAST_NUMBER = select(func.max(coupon.c.number)).where(coupon.c.shop_id == bindparam("shop"))
_NEWEST_RULES = (
    select(rules_table.c.id, rules_table.c.body, rules_table.c.seal)
    .where(rules_table.c.shop_id == bindparam("shop"))
    .order_by(rules_table.c.id.desc())
    .limit(1)
)


@dataclass
class Judged:
    """A revision on its way into the log.

    Parameters
    ----------
    coupon : Coupon
        As it will be read back, with names as the shop spells them.
    verdict : Verdict
        Its verdict.
    values : dict
        Columns of its row.
    rules_seal : str
        Seal of the rules it was judged by.
    number : int
        Number of the coupon.
    replaces : mapping or None
        Columns of the revision it replaces.
    """

    coupon: Coupon
    verdict: Verdict
    values: dict[str, Any]
    rules_seal: str
    number: int = 0
    replaces: Mapping[str, Any] | None = None
    results: list[dict[str, Any]] = field(init=False)

    def __post_init__(self) -> None:
        self.results = rows.result_values(self.coupon)

    def points_at(self) -> dict[str, Any]:
        """Return what its ids stand for, for its seal."""
        return {
            "number": self.number,
            "welder": self.coupon.welder,
            "machine": self.coupon.machine,
            "stack": rows.stack_values(self.coupon.stack)["fingerprint"],
            "rules": self.rules_seal,
            "results": [rows.result_words(each) for each in self.results],
        }

    def result_rows(self, revision_id: int) -> list[dict[str, Any]]:
        """Return the rows of its interfaces."""
        shop = self.values["shop_id"]
        return [
            {"coupon_revision_id": revision_id, "shop_id": shop, **each} for each in self.results
        ]

    def logged(self) -> LoggedCoupon:
        """Return it as the log holds it."""
        v = self.values
        return LoggedCoupon(
            self.number, self.coupon, self.verdict, v["revision"], v["voided"], v["origin"]
        )


class CouponWriting(ShopRecords, Joints, CouponReading):
    """Judging and writing revisions inside a transaction."""

    def _judge(
        self,
        connection: Connection,
        new: Sequence[Coupon],
        by: str,
        now: datetime,
        before: Coupon | None = None,
        first_place: int = 0,
    ) -> list[Judged]:
        """Check and judge coupons.

        `before` is what a single corrected one was; `first_place` is the place in its file of the
        first of many, 0 for a single coupon.
        """
        by_rules = self._rules_in_force(connection, by)
        rules = rows.rules_from(by_rules.body)
        welders = self._rows_named(connection, welder, {each.welder for each in new})
        guns = self._rows_named(connection, machine, {each.machine for each in new})
        limits = {key: rows.machine_from(row._mapping) for key, row in guns.items()}
        jobs = {name: self._spelled(connection, name) for name in {each.job for each in new}}
        stacks = self._stack_ids(connection, [each.stack for each in new])
        judged = []
        for place, (each, stack_id) in enumerate(zip(new, stacks, strict=True), start=first_place):
            who, gun = welders[rows.name_key(each.welder)], guns[rows.name_key(each.machine)]
            try:
                check(each, limits[gun.name_key], now, before)
            except AdvisorError as error:
                if not first_place:
                    raise
                raise InputError(
                    say("coupon {place} of the file: {problem}", place=place, problem=error)
                ) from error
            ids = {
                "welder_id": who.id,
                "machine_id": gun.id,
                "stack_id": stack_id,
                "rules_id": by_rules.id,
            }
            spelled = replace(each, welder=who.name, machine=gun.name, job=jobs[each.job])
            judged.append(self._judged(spelled, rules, ids, by, now, by_rules.seal))
        return judged

    def _add_quickly(
        self, new: Coupon, by: str, now: datetime, foretold: Foretold | None
    ) -> Judged | None:
        """Judge and write one coupon with few statements; None when the longer way is needed."""
        with self._entrance() as connection:
            head = quick.head(connection, self._shop)
            one = self._judge_quickly(connection, new, by, now)
            if one is None:
                return None
            earlier = quick.earlier(connection, self._shop, one.values, new.setting.current_kA)
            one.values["purpose"] = purpose_of(new.setting, earlier).value
            one.number = head.last_number + 1
            one.values.update(coupon_id=head.new_coupon, id=head.new_revision)
            Chain(_R, head.last_place, head.last_seal).seal_row(one.values, one.points_at())
            made = {"id": head.new_coupon, "shop_id": self._shop, "number": one.number}
            quick.send(connection, made, one.values, one.result_rows(head.new_revision))
            self._keep_foretold(connection, one, foretold)
        return one

    def _keep_foretold(
        self, connection: Connection, written: Judged, foretold: Foretold | None
    ) -> None:
        if foretold is None:
            return
        values = {
            "coupon_id": written.values["coupon_id"],
            **vars(foretold),
            "recorded_at": written.values["recorded_at"],
        }
        self._append(connection, foretold_table, values, number=written.number)

    def _judge_quickly(
        self, connection: Connection, new: Coupon, by: str, now: datetime
    ) -> Judged | None:
        names = {
            "welder": rows.name_key(new.welder),
            "machine": rows.name_key(new.machine),
            "fingerprint": rows.stack_values(new.stack)["fingerprint"],
            "by": rows.name_key(by),
        }
        known = quick.known(connection, self._shop, names)
        if known is None:
            return None
        self._check_role(connection, by, Act.BENCH, known)
        check(new, rows.machine_from(known._mapping), now)
        ids = {
            "welder_id": known.who_id,
            "machine_id": known.id,
            "stack_id": known.stack_id,
            "rules_id": known.rules_id,
        }
        job = self._spelled(connection, new.job)
        spelled = replace(new, welder=known.who, machine=known.name, job=job)
        rules = rows.rules_from(known.rules_body)
        return self._judged(spelled, rules, ids, by, now, known.rules_seal)

    def _judged(
        self,
        spelled: Coupon,
        rules: ShopRules,
        ids: Mapping[str, int],
        by: str,
        now: datetime,
        rules_seal: str,
    ) -> Judged:
        with speaking(ENGLISH):  # its reasons are sealed
            verdict = judge(spelled, rules.judging)
        values = {
            **rows.coupon_values(spelled),
            **rows.verdict_values(verdict),
            "causes": rows.causes_text(verdict.causes),
            **ids,
            "shop_id": self._shop,
            "revision": 1,
            "voided": "",
            "why": "",
            "origin": "",
            "recorded_by": by.strip(),
            "recorded_at": now,
        }
        return Judged(spelled, verdict, values, rules_seal)

    def _write(self, connection: Connection, judged: Sequence[Judged]) -> None:
        """Seal and write revisions with their results, and count them."""
        untold = [(one.coupon, one.values) for one in judged if "purpose" not in one.values]
        give_purposes(connection, self._shop, untold)
        chain = Chain.end(connection, _R, self._shop)
        for one in judged:
            chain.seal_row(one.values, one.points_at())
        ids = insert_rows(connection, _R, [one.values for one in judged])
        connection.execute(
            _INSERT_RESULTS,
            [
                row
                for revision_id, one in zip(ids, judged, strict=True)
                for row in one.result_rows(revision_id)
            ],
        )
        replaced = [one.replaces for one in judged if one.replaces]
        tally.count(connection, [one.values for one in judged], replaced)

    def _number(self, connection: Connection, judged: Sequence[Judged], last: int) -> None:
        """Make new coupons with the numbers after `last`."""
        numbers = range(last + 1, last + 1 + len(judged))
        made = [{"shop_id": self._shop, "number": number} for number in numbers]
        ids = insert_rows(connection, coupon, made)
        for one, number, coupon_id in zip(judged, numbers, ids, strict=True):
            one.number = number
            one.values["coupon_id"] = coupon_id

    def _last_number(self, connection: Connection) -> int:
        return connection.execute(_LAST_NUMBER, {"shop": self._shop}).scalar() or 0

    def _rules_in_force(self, connection: Connection, by: str) -> Row[*tuple[Any, ...]]:
        here = {"shop": self._shop}
        newest = connection.execute(_NEWEST_RULES, here).one_or_none()
        if newest is None:
            self._add_rules(connection, ShopRules(), by)
            newest = connection.execute(_NEWEST_RULES, here).one()
        return newest

    def _spelled(self, connection: Connection, number: str) -> str:
        """Return a job's number as the shop writes it, since coverage compares the two."""
        found = self._job(connection, number) if number.strip() else None
        return str(found.number) if found else number

    def _rows_named(
        self, connection: Connection, table: Table, names: set[str]
    ) -> dict[str, Row[Any]]:
        keys = {rows.name_key(name) for name in names}
        query = _ROWS_NAMED[table.name]
        here = {"shop": self._shop, "keys": list(keys)}
        found = {row.name_key: row for row in connection.execute(query, here)}
        unknown = sorted(name for name in names if rows.name_key(name) not in found)
        if unknown:
            raise InputError(say(_UNKNOWN[table.name], names=listed(unknown, "or")))
        return found


_ROWS_NAMED = {
    table.name: select(table).where(
        table.c.shop_id == bindparam("shop"),
        table.c.name_key.in_(bindparam("keys", expanding=True)),
    )
    for table in (welder, machine)
}


def insert_rows(
    connection: Connection, table: Table, values: list[dict[str, Any]]
) -> Sequence[int]:
    """Insert rows and return their ids in the same order."""
    ids = _new_ids(connection, table, len(values))
    for row, new in zip(values, ids, strict=True):
        row["id"] = new
    connection.execute(insert(table), values)
    return ids


def _new_ids(connection: Connection, table: Table, number: int) -> Sequence[int]:
    """Return ids for new rows: asked for one by one with each insert they cost most of it."""
    if connection.dialect.name == "postgresql":
        asked = text("SELECT nextval(:sequence) FROM generate_series(1, :number)")
        here = {"sequence": f"{table.name}_id_seq", "number": number}
        return sorted(connection.execute(asked, here).scalars())
    # Nobody else writes to the file meanwhile.
    last = connection.execute(select(func.max(table.c.id))).scalar() or 0
    return range(last + 1, last + 1 + number)


def check(coupon: Coupon, gun: Machine, now: datetime, before: Coupon | None = None) -> None:
    """Refuse a coupon from the future or beyond its machine; `before` is what it corrects."""
    coupon.check_time(now)
    if not _welded_alike(coupon, before):
        gun.check(coupon.setting)


def _welded_alike(new: Coupon, before: Coupon | None) -> bool:
    """Whether a correction leaves machine and setting: limits changed since do not matter."""
    return (
        before is not None
        and new.setting == before.setting
        and rows.name_key(new.machine) == rows.name_key(before.machine)
    )
