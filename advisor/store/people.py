"""The people of a shop: who works here, in what role, and with whose PIN."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row

from advisor.errors import InputError, RecordError
from advisor.language import say
from advisor.people import pin as pins
from advisor.people.roles import Act, Role
from advisor.store.rows import name_key
from advisor.store.schema import access, welder
from advisor.store.visits import ACCESS, UNLOCKED, VISIT_HOURS, Person, Visits, person_from

__all__ = ["VISIT_HOURS", "People", "Person"]

#: Longest address kept. Choice of this project. [letters]
LONGEST_EMAIL = 200


class People(Visits):
    """Who works in the shop and what they are; a lead says so."""

    def people(self) -> list[Person]:
        """Return everybody by name, those who have left included."""
        query = ACCESS.where(access.c.shop_id == self._shop).order_by(welder.c.name_key)
        with self._reading() as connection:
            return [person_from(row) for row in connection.execute(query)]

    def set_role(self, name: str, role: Role, by: str) -> None:
        """Give a person another role.

        Raises
        ------
        RecordError
            No such person, or the shop would be without a lead.
        RoleError
            `by` is no lead.
        """
        with self._writing(by, Act.PEOPLE) as connection:
            row = self._known(connection, name)
            if role is not Role.LEAD:
                self._check_other_lead(connection, row)
            self._alter(connection, by, row, f"role of {row.name} changed", {"role": role.value})

    def set_pin(self, name: str, pin: str, by: str) -> None:
        """Give oneself or somebody else a PIN; who is signed in by the old one is signed out.

        A PIN that somebody else gives unlocks the name as well.

        Raises
        ------
        InputError
            It is no PIN, or too easy to guess.
        RecordError
            No such person, or they have left.
        RoleError
            It is somebody else's, and `by` is no lead.
        """
        is_own = name_key(name) == name_key(by)
        values = {"pin": pins.hashed(pin), **({} if is_own else UNLOCKED)}
        with self._writing(by, Act.OWN if is_own else Act.PEOPLE) as connection:
            row = self._known(connection, name)
            if row.left_at is not None:
                raise RecordError(
                    say("{name} has left the shop; enter the name again first", name=row.name)
                )
            self._alter(connection, by, row, f"PIN of {row.name} set", values)
            self._end_visits(connection, row.welder_id)

    def unlock(self, name: str, by: str) -> None:
        """Let a person try again who had too many wrong PINs."""
        with self._writing(by, Act.PEOPLE) as connection:
            row = self._known(connection, name)
            self._alter(connection, by, row, f"{row.name} unlocked", UNLOCKED)

    def leave(self, name: str, by: str) -> None:
        """Note that a person works here no longer; their coupons stay, their PIN does not.

        Raises
        ------
        RecordError
            No such person, or the shop would be without a lead.
        """
        with self._writing(by, Act.PEOPLE) as connection:
            row = self._known(connection, name)
            self._check_other_lead(connection, row)
            left = {"left_at": row.left_at or datetime.now(UTC), "pin": None}
            self._alter(connection, by, row, f"{row.name} left", left)
            self._end_visits(connection, row.welder_id)

    def come_back(self, name: str, by: str) -> None:
        """Let a person work here again, in the role they had; they need a new PIN."""
        with self._writing(by, Act.PEOPLE) as connection:
            row = self._known(connection, name)
            back = {"left_at": None, **UNLOCKED}
            self._alter(connection, by, row, f"{row.name} came back", back)

    def set_email(self, name: str, email: str, by: str) -> None:
        """Note what the shop's own sign-in service knows a person by; empty for nothing.

        Raises
        ------
        InputError
            It is no address, or somebody else in the shop has it.
        """
        wanted = _email(email)
        with self._writing(by, Act.PEOPLE) as connection:
            row = self._known(connection, name)
            other = self._first(connection, access.c.email == wanted) if wanted else None
            if other is not None and other.welder_id != row.welder_id:
                raise InputError(
                    say("{email} is the address of {name} already", email=wanted, name=other.name)
                )
            values = {"email": wanted or None}
            self._alter(connection, by, row, f"address of {row.name} changed", values)

    def _check_other_lead(self, connection: Connection, row: Row[Any]) -> None:
        others = self._leads(access.c.welder_id != row.welder_id)
        if not connection.execute(others).scalar_one():
            raise RecordError(
                say(
                    "{name} is the shop's only lead; make somebody else a lead first", name=row.name
                )
            )


def _email(text: str) -> str:
    """Return an address as it is compared: nothing more is asked of it than one @ in the middle."""
    email = text.strip().casefold()
    if not email:
        return ""
    name, _, host = email.partition("@")
    if not (name and host) or "@" in host or len(email.split()) > 1 or not email.isprintable():
        raise InputError(
            say("{typed!r} is no e-mail address; one is like name@shop.example", typed=text.strip())
        )
    if len(email) > LONGEST_EMAIL:
        raise InputError(
            say(
                "the address has {letters} letters; at most {most} are kept",
                letters=len(email),
                most=LONGEST_EMAIL,
            )
        )
    return email
