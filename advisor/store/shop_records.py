"""Welders, machines, electrodes, adhesives, rules and preferences of a shop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, Table, delete, func, insert, select, update

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.joint import Bench
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.people.roles import Act, Role
from advisor.store import rows
from advisor.store.base import Base, is_newest
from advisor.store.joint_rows import caps_from, caps_values
from advisor.store.race import ANYTHING, check_start
from advisor.store.schema import (
    access,
    adhesive,
    change_log,
    coupon_revision,
    machine,
    machine_event,
    preference,
    welder,
)
from advisor.store.schema import rules as rules_table
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine

#: Coupons since dressing are counted up to here: caps that are that far on are overdue anyway.
MOST_COUNTED = 300
#: Longest name of a person, machine or adhesive. Choice of this project: it has to fit on a card.
LONGEST_NAME = 60
FITTED, DRESSED, REPAIRED, SETTLED = "fitted", "dressed", "repaired", "settled"
_WORDS = {
    FITTED: msg("new caps"),
    DRESSED: msg("dressed"),
    REPAIRED: msg("machine repaired"),
    SETTLED: msg("limits of drift begin anew"),
}


@dataclass(frozen=True)
class MachineEvent:
    """Something that was done to a machine.

    Parameters
    ----------
    kind : str
        ``fitted``, ``dressed``, ``repaired`` or ``settled``.
    at : datetime
        When.
    electrode : Electrode or None
        Caps that were fitted.
    note, by : str
        Free text, and who wrote it down.
    """

    kind: str
    at: datetime
    electrode: Electrode | None
    note: str
    by: str

    def __str__(self) -> str:
        """Return the event in one line."""
        caps = f" {self.electrode.title()}" if self.electrode else ""
        note = f", {self.note}" if self.note else ""
        at = figure(self.at.astimezone(), "%Y-%m-%d %H:%M")
        return f"{at} {say(_WORDS[self.kind])}{caps}{note} ({self.by})"


class ShopRecords(Base):
    """Who and what the shop has."""

    def _keep(self, connection: Connection, by: str, table: Table, name: str, values: Any) -> int:
        """Add or change a named row; a change leaves before and after in the change log."""
        if len(name) > LONGEST_NAME:
            raise InputError(
                say(
                    "the name has {letters} letters; at most {most} fit on a card",
                    letters=len(name),
                    most=LONGEST_NAME,
                )
            )
        old = self._find(connection, table, name)
        if old is None:
            row = {"shop_id": self._shop, "name": " ".join(name.split())}
            row["name_key"] = rows.name_key(name)
            added = connection.execute(insert(table).values(**row, **values).returning(table.c.id))
            self._log_change(connection, by, f"{table.name} {name} added", None, values)
            return int(added.scalar_one())
        before = {key: getattr(old, key) for key in values}
        if before != values:
            connection.execute(update(table).where(table.c.id == old.id).values(**values))
            self._log_change(connection, by, f"{table.name} {name} changed", before, values)
        return int(old.id)

    def welders(self) -> list[str]:
        """Return the names of the welders."""
        here = (welder.c.shop_id == self._shop, access.c.left_at.is_(None))
        query = select(welder.c.name).join(access).where(*here).order_by(welder.c.name_key)
        with self._reading() as connection:
            return list(connection.execute(query).scalars())

    def add_welder(self, name: str, by: str, role: Role = Role.WELDER) -> None:
        """Add a person; the first one of a shop is its lead.

        Raises
        ------
        InputError
            No name, or one that is there already, whatever its case.
        RoleError
            `by` is no lead.
        """
        if not name.strip():
            raise InputError(
                say("the welder has no name; give the name that coupons are signed with")
            )
        with self._writing(by, Act.PEOPLE) as connection:
            if self._find(connection, welder, name) is not None:
                raise InputError(say("{name} is in the list already", name=name.strip()))
            first = not self._has_people(connection)
            added = self._keep(connection, by, welder, name, {})
            connection.execute(
                insert(access).values(
                    welder_id=added,
                    shop_id=self._shop,
                    role=(Role.LEAD if first else role).value,
                )
            )

    def machines(self) -> list[Machine]:
        """Return the machines."""
        query = select(machine).where(machine.c.shop_id == self._shop).order_by(machine.c.name_key)
        with self._reading() as connection:
            return [rows.machine_from(row._mapping) for row in connection.execute(query)]

    def machine(self, name: str) -> Machine:
        """Return one machine; `RecordError` names those that exist."""
        with self._reading() as connection:
            return rows.machine_from(self._need(connection, machine, name)._mapping)

    def save_machine(self, new: Machine, by: str, started_from: object = ANYTHING) -> None:
        """Add a machine or change its limits and calibration.

        Parameters
        ----------
        new : Machine
            The machine as it is to be.
        by : str
            A lead.
        started_from : Machine or None, optional
            The machine as the form found it; when it was changed since, `LostRaceError`.
        """
        with self._writing(by, Act.MACHINES) as connection:
            old = self._find(connection, machine, new.name)
            stored = rows.machine_from(old._mapping) if old else None
            check_start(say("machine {name}", name=new.name), started_from, stored, new)
            self._keep(connection, by, machine, new.name, rows.machine_values(new))

    def fit_caps(self, machine_name: str, caps: Electrode, at: datetime, by: str) -> None:
        """Note that new caps were fitted; coupons made before no longer cover a joint."""
        self._note_event(machine_name, FITTED, at, by, "", caps)

    def dress(self, machine_name: str, at: datetime, by: str) -> None:
        """Note that the caps were dressed to the same face; coverage stays."""
        self._note_event(machine_name, DRESSED, at, by, "", None)

    def repair(self, machine_name: str, at: datetime, by: str, note: str = "") -> None:
        """Note a repair of the machine; coupons made before no longer cover a joint."""
        self._note_event(machine_name, REPAIRED, at, by, note, None)

    def settle(self, machine_name: str, at: datetime, by: str, why: str) -> None:
        """Let the limits of drift be worked out anew from the coupons after a moment."""
        if not why.strip():
            raise InputError(say("say in a few words why the limits of drift begin anew"))
        self._note_event(machine_name, SETTLED, at, by, why, None, Act.RULES)

    def _note_event(
        self,
        name: str,
        kind: str,
        at: datetime,
        by: str,
        note: str,
        caps: Electrode | None,
        act: Act = Act.BENCH,
    ) -> None:
        if at.tzinfo is None:
            raise InputError(say("the time of what was done to a machine needs its time zone"))
        with self._writing(by, act) as connection:
            found = self._need(connection, machine, name)
            self._append(
                connection,
                machine_event,
                {
                    "machine_id": found.id,
                    "kind": kind,
                    "at": at,
                    **caps_values(caps),
                    "note": note,
                    "recorded_by": by.strip(),
                    "recorded_at": datetime.now(UTC),
                },
                machine=found.name,
            )

    def _newest(self, connection: Connection, machine_id: int, *kinds: str) -> Row[Any] | None:
        return connection.execute(
            select(machine_event)
            .where(machine_event.c.machine_id == machine_id, machine_event.c.kind.in_(kinds))
            .order_by(machine_event.c.at.desc(), machine_event.c.id.desc())
            .limit(1)
        ).one_or_none()

    def bench(self, machine_name: str) -> Bench:
        """Return what is fitted on a machine now, since when, and its last repair."""
        with self._reading() as connection:
            found = self._need(connection, machine, machine_name)
            fitted = self._newest(connection, found.id, FITTED)
            repaired = self._newest(connection, found.id, REPAIRED)
        return Bench(
            found.name,
            caps_from(fitted._mapping) if fitted else None,
            fitted.at if fitted else None,
            repaired.at if repaired else None,
        )

    def events(self, machine_name: str, limit: int = 20) -> list[MachineEvent]:
        """Return what was done to a machine, newest first."""
        with self._reading() as connection:
            query = (
                select(machine_event)
                .where(
                    machine_event.c.machine_id == self._need(connection, machine, machine_name).id
                )
                .order_by(machine_event.c.at.desc(), machine_event.c.id.desc())
                .limit(limit)
            )
            return [
                MachineEvent(row.kind, row.at, caps_from(row._mapping), row.note, row.recorded_by)
                for row in connection.execute(query)
            ]

    def welds_since_dressing_hint(self, machine_name: str) -> int | None:
        """Return how many coupons were logged since the caps were fitted or dressed.

        Welds on vehicles are not known to the log, so the true count is at least this. A voided
        coupon was welded too and is counted. Beyond `MOST_COUNTED` it is not counted on.
        """
        r = coupon_revision.c
        with self._reading() as connection:
            found = self._need(connection, machine, machine_name)
            newest = self._newest(connection, found.id, FITTED, DRESSED)
            if newest is None:
                return None
            mine = (r.shop_id == self._shop, r.machine_id == found.id, r.made_at >= newest.at)
            since = select(r.id).where(*mine, is_newest()).order_by(r.made_at).limit(MOST_COUNTED)
            query = select(func.count()).select_from(since.subquery())
            return int(connection.execute(query).scalar_one())

    def adhesives(self) -> list[Adhesive]:
        """Return the shop's adhesives."""
        query = select(adhesive).where(adhesive.c.shop_id == self._shop)
        with self._reading() as connection:
            found = connection.execute(query.order_by(adhesive.c.name_key))
            return [rows.adhesive_from(row._mapping) for row in found]

    def save_adhesive(self, new: Adhesive, by: str, started_from: object = ANYTHING) -> None:
        """Add an adhesive or change its label times; `started_from` as for a machine."""
        with self._writing(by, Act.ADHESIVES) as connection:
            old = self._find(connection, adhesive, new.name)
            stored = rows.adhesive_from(old._mapping) if old else None
            check_start(say("adhesive {name}", name=new.name), started_from, stored, new)
            self._keep(connection, by, adhesive, new.name, rows.adhesive_values(new))

    def rules(self) -> ShopRules:
        """Return the rules that hold now."""
        with self._reading() as connection:
            newest = self._newest_rules(connection)
        return rows.rules_from(newest.body) if newest else ShopRules()

    def save_rules(self, new: ShopRules, by: str, started_from: object = ANYTHING) -> None:
        """Let new rules hold from now on; verdicts already given keep theirs."""
        with self._writing(by, Act.RULES) as connection:
            newest = self._newest_rules(connection)
            stored = rows.rules_from(newest.body) if newest else ShopRules()
            check_start(say("the shop's rules"), started_from, stored, new)
            self._add_rules(connection, new, by)

    def _newest_rules(self, connection: Connection) -> Row[Any] | None:
        return connection.execute(
            select(rules_table)
            .where(rules_table.c.shop_id == self._shop)
            .order_by(rules_table.c.id.desc())
            .limit(1)
        ).one_or_none()

    def _add_rules(self, connection: Connection, new: ShopRules, by: str) -> int:
        values = {
            "body": rows.rules_text(new),
            "recorded_by": by.strip(),
            "recorded_at": datetime.now(UTC),
        }
        return self._append(connection, rules_table, values)

    def preferences(self, who: str) -> dict[str, str]:
        """Return what was remembered for one person."""
        p = preference
        query = select(p.c.name, p.c.value).where(
            p.c.shop_id == self._shop, p.c.who == rows.name_key(who)
        )
        with self._reading() as connection:
            return {name: value for name, value in connection.execute(query)}

    def save_preferences(self, who: str, values: Mapping[str, str]) -> None:
        """Remember something for one person; other names of theirs stay."""
        p, key = preference, rows.name_key(who)
        mine = (p.c.shop_id == self._shop, p.c.who == key, p.c.name.in_(values))
        new = [
            {"shop_id": self._shop, "who": key, "name": name, "value": value}
            for name, value in values.items()
        ]
        if not new:
            return
        with self._writing(who, Act.OWN) as connection:
            connection.execute(delete(p).where(*mine))
            connection.execute(insert(p), new)

    def changes(self, limit: int = 50) -> list[Row[Any]]:
        """Return the newest changes of machines, welders, adhesives and joints."""
        c = change_log
        query = select(c).where(c.c.shop_id == self._shop).order_by(c.c.id.desc()).limit(limit)
        with self._reading() as connection:
            return list(connection.execute(query))
