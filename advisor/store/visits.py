"""Visits: who is signed in, by name and PIN, and what a wrong PIN costs.

A try is counted before its PIN is looked at, and taken back when the PIN is right: however many
come at once, no more than `pin.MOST_WRONG` are looked at. Names that nobody has are counted as
well, in memory, so that a refusal says nothing about who works here. They are forgotten when the
program starts again, and the oldest when there are more than `pin.MOST_STRANGERS`; how many tries
one address has over all names is for whoever listens to the network to limit.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, bindparam, func, insert, select, update

from advisor.errors import RoleError
from advisor.language import msg, say
from advisor.people import pin as pins
from advisor.people.pin import Tries
from advisor.people.roles import Role
from advisor.store.base import Base
from advisor.store.rows import name_key
from advisor.store.schema import access, shop, visit, welder

#: How long a person stays signed in. [h]
VISIT_HOURS = 12
#: What a lock that came of wrong PINs is written down under.
DOOR = "sign-in"
#: Columns after a lead has unlocked a name, or its person has signed in.
UNLOCKED: dict[str, Any] = {"wrong_tries": 0, "tried_at": None, "locked_at": None}
#: A person's name and access.
ACCESS = select(welder.c.name, access).join(access, access.c.welder_id == welder.c.id)

_NOBODY_YET = msg(
    "no lead has a PIN yet, so nobody could sign in from another device; on this machine run: "
    "python -m advisor pin NAME --role lead --add"
)
_LONGEST_KEY = 200
_MARK_NOTHING = update(shop).where(shop.c.id == bindparam("shop")).values(name=shop.c.name)
_SECRET = frozenset({"pin"})
_STRANGERS = pins.Strangers()


@dataclass(frozen=True)
class Person:
    """Somebody who works or worked in the shop.

    Parameters
    ----------
    name : str
        As coupons are signed.
    role : Role
        What they are in the shop's own log.
    has_pin, is_locked, has_left : bool
        Whether they can sign in with a PIN, had too many wrong ones, work here no longer.
    email : str
        What the shop's own sign-in service knows them by; empty where it does not.
    """

    name: str
    role: Role
    has_pin: bool
    is_locked: bool
    has_left: bool
    email: str


class Visits(Base):
    """Signing in and out; what is here works for somebody who is not signed in."""

    def sign_in(self, name: str, pin: str, now: datetime | None = None) -> str:
        """Begin a visit, for somebody who is not signed in yet.

        Parameters
        ----------
        name, pin : str
            As they were typed.
        now : datetime, optional
            Moment of the try; the clock's when left out.

        Returns
        -------
        str
            Token of the visit, 64 hexadecimal digits; the log keeps only its hash.

        Raises
        ------
        RoleError
            Name and PIN do not fit together, the next try has to wait, or the name is locked. The
            text is the same for a name that nobody has.
        """
        now = now or datetime.now(UTC)
        known = self._count_try(name, now)
        fits = pins.fits(known.pin if known else None, pin)  # outside: it takes its time
        if known is not None and fits:
            kept = pins.hashed(pin) if pins.needs_rehash(known.pin) else known.pin
            return self._begin_visit(known, kept, now)
        if known is not None and Tries(known.wrong_tries + 1).is_spent:
            self._lock_out(known, now)
        raise RoleError(say(pins.NO_FIT))

    def _count_try(self, name: str, now: datetime) -> Row[Any] | None:
        """Count a try as wrong before its PIN is looked at; the person, as they were before it."""
        key = _askable(name_key(name))
        with self._entrance() as connection:
            row = self._first(connection, welder.c.name_key == key)
            if row is None:
                _STRANGERS.count((self.url, self._shop, key), now)
                connection.execute(_MARK_NOTHING, {"shop": self._shop})  # as long as for a person
                return None
            is_locked = row.locked_at is not None
            tries = Tries(pins.MOST_WRONG if is_locked else row.wrong_tries, row.tried_at)
            tries.check(now)
            more = {"wrong_tries": tries.and_another(now).wrong, "tried_at": now}
            self._store(connection, row.welder_id, more)
            return row

    def _begin_visit(self, known: Row[Any], kept: str, now: datetime) -> str:
        token = secrets.token_hex(32)
        with self._entrance() as connection:
            row = self._known(connection, known.name)
            # What may have happened while the PIN was looked at.
            if row.pin != known.pin or row.left_at is not None or row.locked_at is not None:
                raise RoleError(say(pins.NO_FIT))
            self._store(connection, row.welder_id, {**UNLOCKED, "pin": kept})
            connection.execute(
                insert(visit).values(
                    token_hash=_token_hash(token),
                    shop_id=self._shop,
                    welder_id=row.welder_id,
                    began_at=now,
                    until=now + timedelta(hours=VISIT_HOURS),
                )
            )
        return token

    def _lock_out(self, known: Row[Any], now: datetime) -> None:
        with self._entrance() as connection:
            row = self._known(connection, known.name)
            # A right PIN may have come in between.
            if Tries(row.wrong_tries).is_spent and row.locked_at is None:
                what = f"{row.name} locked after {row.wrong_tries} wrong PINs in a row"
                self._alter(connection, DOOR, row, what, {"locked_at": now})
                self._end_visits(connection, row.welder_id)

    def visitor(self, token: str, now: datetime | None = None) -> Person | None:
        """Return whose visit a token stands for; None when it does not stand for one any more."""
        query = (
            ACCESS.join(visit, visit.c.welder_id == welder.c.id)
            .where(visit.c.shop_id == self._shop, visit.c.token_hash == _token_hash(token))
            .where(visit.c.ended_at.is_(None), visit.c.until > (now or datetime.now(UTC)))
            .where(access.c.left_at.is_(None), access.c.locked_at.is_(None))
        )
        with self._glance() as connection:
            row = connection.execute(query).one_or_none()
        return None if row is None else person_from(row)

    def sign_out(self, token: str) -> None:
        """End a visit; a token that stands for none ends nothing."""
        with self._entrance() as connection:
            self._end(connection, visit.c.token_hash == _token_hash(token))

    def person_with_email(self, email: str) -> Person | None:
        """Return who is known by an address and has not left; None when nobody is.

        The address has to come from a service that has made sure of it. Too many wrong PINs do not
        lock this door.
        """
        key = _askable(email.strip().casefold())
        with self._glance() as connection:
            row = self._first(connection, access.c.email == key, access.c.left_at.is_(None))
        return None if row is None else person_from(row)

    def check_may_listen(self) -> None:
        """Refuse to be reached from other devices while no lead could sign in.

        Raises
        ------
        RoleError
            No lead has a PIN; the text says how one gets it.
        """
        with self._glance() as connection:
            leads = self._leads(access.c.pin.is_not(None))
            if not connection.execute(leads).scalar_one():
                raise RoleError(say(_NOBODY_YET))

    def _first(self, connection: Connection, *which: ColumnElement[bool]) -> Row[Any] | None:
        query = ACCESS.where(access.c.shop_id == self._shop, *which)
        return connection.execute(query).one_or_none()

    def _known(self, connection: Connection, name: str) -> Row[Any]:
        found = self._need(connection, welder, name)
        return connection.execute(ACCESS.where(access.c.welder_id == found.id)).one()

    def _leads(self, *which: ColumnElement[bool]) -> Any:
        mine = (access.c.shop_id == self._shop, access.c.left_at.is_(None))
        is_lead = access.c.role == Role.LEAD.value
        return select(func.count()).select_from(access).where(*mine, is_lead, *which)

    def _alter(
        self,
        connection: Connection,
        by: str,
        row: Row[Any],
        what: str,
        values: Mapping[str, Any],
    ) -> None:
        """Change a person's access; the change log hears of it, of no PIN and no hash."""
        before = {name: row._mapping[name] for name in values}
        if before == values:
            return
        self._store(connection, row.welder_id, values)
        self._log_change(connection, by, what, _open(before), _open(values))

    def _store(self, connection: Connection, welder_id: int, values: Mapping[str, Any]) -> None:
        mine = (access.c.shop_id == self._shop, access.c.welder_id == welder_id)
        connection.execute(update(access).where(*mine).values(**values))

    def _end_visits(self, connection: Connection, welder_id: int) -> None:
        self._end(connection, visit.c.welder_id == welder_id)

    def _end(self, connection: Connection, which: ColumnElement[bool]) -> None:
        mine = (visit.c.shop_id == self._shop, visit.c.ended_at.is_(None), which)
        connection.execute(update(visit).where(*mine).values(ended_at=datetime.now(UTC)))


def person_from(row: Row[Any]) -> Person:
    """Return a person from a row of `ACCESS`."""
    return Person(
        row.name,
        Role.of(row.role),
        has_pin=row.pin is not None,
        is_locked=row.locked_at is not None or Tries(row.wrong_tries).is_spent,
        has_left=row.left_at is not None,
        email=row.email or "",
    )


def _askable(text: str) -> str:
    """Return a text that every database takes, so that none stumbles over what a stranger sends."""
    return text.encode(errors="replace").decode().replace("\0", "?")[:_LONGEST_KEY]


def _token_hash(token: str) -> str:
    return hashlib.sha256(token.encode(errors="replace")).hexdigest()


def _open(values: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return what of a person's access is no secret."""
    return {name: value for name, value in values.items() if name not in _SECRET} or None
