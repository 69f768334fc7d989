"""Bringing a file in: people, machines, adhesives, usual joints and rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.log_file import Placed
from advisor.language import say
from advisor.people.roles import Role
from advisor.store import rows
from advisor.store.arriving.arrival import Arrival, records
from advisor.store.arriving.shelves import RULES
from advisor.store.joint_rows import as_welded
from advisor.store.schema import access, adhesive, joint_template, machine, welder
from advisor.store.schema import rules as rules_table
from advisor.store.seals import Chain
from advisor.weld.machine import Machine

_Key = tuple[ShopRules, str, datetime]


@dataclass(frozen=True)
class RulesHere:
    """A version of the rules as it is in the log: its id, its seal, its number, what it says."""

    id: int
    seal: str
    number: int
    rules: ShopRules


class ShopArrival(Arrival):
    """What the shop has."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.adhesive_ids: dict[str, int] = {}
        self.rules_of: dict[int, RulesHere] = {}
        self._had_people = self.log._has_people(self.connection)
        self._rules_here: dict[_Key, RulesHere] | None = None

    def bring_in_people(self, some: Sequence[Placed]) -> None:
        """Add the people that nobody here is called like; they keep the role of the file."""
        for person in records(some, r.Person):
            found, is_new = self.named(welder, person.name, {})
            if is_new:
                role = {"role": person.role.value, "left_at": person.left_at}
                mine = {"welder_id": found.id, "shop_id": self.shop_id}
                self.connection.execute(insert(access).values(**mine, **role))
            self.names.people[person.name] = found.name
            self.person_ids[person.name] = found.id
            self.count(person, is_new=is_new)

    def check_lead(self) -> None:
        """Refuse to leave a shop with people and nobody who may enter more."""
        mine = (access.c.shop_id == self.shop_id, access.c.left_at.is_(None))
        leads = select(access.c.welder_id).where(*mine, access.c.role == Role.LEAD.value).limit(1)
        if self._had_people or not self.person_ids or self.connection.execute(leads).first():
            return
        raise InputError(
            say(
                "the file names people but no lead who works in the shop; nobody could add names "
                "or change rules here: make one of them a lead, and export the log again"
            )
        )

    def bring_in_machines(self, some: Sequence[Placed]) -> None:
        """Add the machines that none here is called like."""
        for new in records(some, Machine):
            found, is_new = self.named(machine, new.name, rows.machine_values(new))
            here = rows.machine_from(found._mapping)
            self.note_if_other(
                say("machine {name}", name=here.name), here, replace(new, name=here.name)
            )
            self.names.machines[new.name] = found.name
            self.machine_ids[new.name] = found.id
            self.count(new, is_new=is_new)

    def bring_in_adhesives(self, some: Sequence[Placed]) -> None:
        """Add the adhesives that none here is called like."""
        for new in records(some, Adhesive):
            found, is_new = self.named(adhesive, new.name, rows.adhesive_values(new))
            here = rows.adhesive_from(found._mapping)
            self.note_if_other(
                say("adhesive {name}", name=here.name), here, replace(new, name=here.name)
            )
            self.adhesive_ids[new.name] = found.id
            self.count(new, is_new=is_new)

    def bring_in_usual(self, some: Sequence[Placed]) -> None:
        """Add the usual joints that none here is called like."""
        for usual in records(some, r.UsualJoint):
            new = usual.joint
            values = {
                "stack_id": self.log._stack_ids(self.connection, [new.stack])[0],
                "machine_id": self.machine_ids[new.machine],
                **as_welded(new),
            }
            _, is_new = self.named(joint_template, new.name, values)
            self.count(usual, is_new=is_new)

    def bring_in_rules(self, some: Sequence[Placed]) -> None:
        """Add the versions of the rules that the log does not have."""
        known = self._known_rules()
        for version in records(some, r.RulesVersion):
            key = (version.rules, version.by, version.at)
            self.count(version, is_new=key not in known)
            if key not in known:
                known[key] = self._add_version(version)
            self.rules_of[version.number] = known[key]

    def _add_version(self, version: r.RulesVersion) -> RulesHere:
        values = {
            "body": rows.rules_text(version.rules),
            "recorded_by": version.by,
            "recorded_at": version.at,
        }
        added = self.log._append(self.connection, rules_table, values)
        end = Chain.end(self.connection, rules_table, self.shop_id)
        return RulesHere(added, end.seal, end.place, version.rules)

    def _known_rules(self) -> dict[_Key, RulesHere]:
        if self._rules_here is None:
            query = RULES.query.where(rules_table.c.shop_id == self.shop_id)
            found = self.connection.execute(query.order_by(RULES.order.desc())).mappings()
            self._rules_here = {
                (rows.rules_from(row["body"]), row["recorded_by"], row["recorded_at"]): RulesHere(
                    row["id"], row["seal"], row["place"], rows.rules_from(row["body"])
                )
                for row in found
            }
        return self._rules_here

    def settle_rules(self) -> None:
        """Let the shop's own rules hold on, unless the file goes on from where they stand."""
        before = self.ends[rules_table.name]
        in_file = [each.number for _, each in sorted(self.rules_of.items())]
        if not self.new["rules"] or not before:
            return
        if in_file[:before] == list(range(1, before + 1)):
            self.notes.append(say("the newest rules of the file hold here from now on"))
            return
        mine = (rules_table.c.shop_id == self.shop_id, rules_table.c.place == before)
        body = self.connection.execute(select(rules_table.c.body).where(*mine)).scalar_one()
        self.log._add_rules(self.connection, rows.rules_from(body), self.by)
        self.notes.append(
            say("the rules of this shop hold on; those of the file are kept beside them")
        )
