"""What every part of the log shares: transactions, the shop, who acts, looking things up by name.

Who may do what is decided by `advisor.people.roles`; here it is asked before anything is written.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from enum import Enum
from typing import Any, Self

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    Row,
    Table,
    and_,
    bindparam,
    select,
)

from advisor.errors import InputError, RecordError, RoleError
from advisor.language import msg, say
from advisor.people.roles import Act, Role, check
from advisor.store import seals
from advisor.store.engine import explained, writing
from advisor.store.rows import name_key
from advisor.store.schema import (
    access,
    adhesive,
    change_log,
    coupon_revision,
    joint_template,
    machine,
    shop,
    welder,
)


class Trust(Enum):
    """How the log knows who uses it."""

    PICKED = "picked"  # one machine alone: the name that was picked is believed
    SIGNED_IN = "signed in"  # by name and PIN, or by the shop's own sign-in service
    SIGNED_OUT = "signed out"
    OPERATOR = "operator"  # whoever can run commands on the server and so read its files anyway


_ACTOR = (
    select(shop.c.is_demo, shop.c.is_copy, access.c.role, access.c.left_at)
    .select_from(
        shop.outerjoin(
            welder,
            and_(welder.c.shop_id == shop.c.id, welder.c.name_key == bindparam("key")),
        ).outerjoin(access, access.c.welder_id == welder.c.id)
    )
    .where(shop.c.id == bindparam("shop"))
)
# A statement of its own: what is read together with a lock may be from before the wait for it.
_HOLD = select(shop.c.id).where(shop.c.id == bindparam("shop")).with_for_update()

_UNKNOWN = {
    welder.name: msg("no welder is called {name!r}; known: {known} (Shop set-up adds one)"),
    machine.name: msg("no machine is called {name!r}; known: {known} (Shop set-up adds one)"),
    adhesive.name: msg("no adhesive is called {name!r}; known: {known} (Shop set-up adds one)"),
    joint_template.name: msg(
        "no joint_template is called {name!r}; known: {known} (Shop set-up adds one)"
    ),
}


class Base:
    """One shop's part of a database.

    Parameters
    ----------
    engine : Engine
        Opened by `engine.connect`.
    shop_id : int
        The shop; no method reads or writes another's rows.
    trust : Trust
        How the log knows who uses it.
    visitor : str
        Name of the person who has signed in.
    """

    def __init__(
        self,
        engine: Engine,
        shop_id: int,
        trust: Trust = Trust.PICKED,
        visitor: str = "",
    ) -> None:
        self._engine = engine
        self._shop = shop_id
        self._trust = trust
        self._visitor = visitor
        self._writer = engine.execution_options(writes=True)
        self._reader = engine
        if engine.dialect.name == "postgresql":
            # Each statement of a reader sees a moment of its own there anyway.
            self._reader = engine.execution_options(isolation_level="AUTOCOMMIT")

    @property
    def url(self) -> str:
        """Address of the database, without its password."""
        return self._engine.url.render_as_string(hide_password=True)

    def used_by(self, trust: Trust, visitor: str = "") -> Self:
        """Return the same log as somebody else sees it, over the same connections."""
        return type(self)(self._engine, self._shop, trust, visitor)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        if self._trust is Trust.SIGNED_OUT:
            raise RoleError(
                say("nobody is signed in; sign in with your name and PIN to read the log")
            )
        with self._glance() as connection:
            yield connection

    @contextmanager
    def _glance(self) -> Iterator[Connection]:
        """Open a transaction that reads, also for somebody who may not be signed in yet."""
        with explained(self._engine.url), self._reader.begin() as connection:
            yield connection

    @contextmanager
    def _writing(self, by: str, act: Act) -> Iterator[Connection]:
        """Open a transaction that writes, once `by` is known to be allowed to."""
        self._check_named(by)
        with self._entrance() as connection:
            self._may(connection, by, act)
            yield connection

    @contextmanager
    def _entrance(self) -> Iterator[Connection]:
        """Open a transaction that writes, whoever it is; other writers of this shop wait."""
        with explained(self._engine.url), writing(self._writer) as connection:
            if connection.dialect.name != "sqlite":  # which has one writer at a time anyway
                connection.execute(_HOLD, {"shop": self._shop})
            yield connection

    def _check_named(self, by: str) -> None:
        if self._trust is Trust.SIGNED_OUT:
            raise RoleError(
                say("nobody is signed in; sign in with your name and PIN to write this")
            )
        if not by.strip():
            raise InputError(
                say("nobody is named as the one who writes this; choose your name at the top")
            )
        if self._trust is Trust.SIGNED_IN and name_key(by) != name_key(self._visitor):
            raise RoleError(
                say(
                    "{visitor} is signed in; {by} has to sign in to write this",
                    visitor=self._visitor,
                    by=by,
                )
            )

    def _check_role(
        self, connection: Connection, by: str, act: Act, actor: Row[*tuple[Any, ...]]
    ) -> None:
        if self._trust is Trust.OPERATOR:
            return
        if actor.role is None:
            if self._has_people(connection):
                raise RoleError(
                    say(
                        "{by} is not in the shop's list of people; a lead adds names under Shop "
                        "set-up",
                        by=by,
                    )
                )
            return  # the first person sets the shop up
        if actor.left_at is not None:
            raise RoleError(say("{by} has left the shop; a lead can enter the name again", by=by))
        # A demo and a practice copy are for trying everything.
        role = Role.LEAD if actor.is_demo or actor.is_copy else Role.of(actor.role)
        check(by, role, act)

    def _may(self, connection: Connection, by: str, act: Act) -> None:
        """Refuse what `by` may not do."""
        actor = connection.execute(_ACTOR, {"key": name_key(by), "shop": self._shop}).one()
        self._check_role(connection, by, act, actor)

    def _has_people(self, connection: Connection) -> bool:
        mine = select(access.c.welder_id).where(access.c.shop_id == self._shop).limit(1)
        return connection.execute(mine).first() is not None

    def _find(self, connection: Connection, table: Table, name: str) -> Row[Any] | None:
        return connection.execute(
            select(table).where(table.c.shop_id == self._shop, table.c.name_key == name_key(name))
        ).one_or_none()

    def _names(self, connection: Connection, table: Table) -> list[str]:
        query = select(table.c.name).where(table.c.shop_id == self._shop)
        return list(connection.execute(query.order_by(table.c.name_key)).scalars())

    def _need(self, connection: Connection, table: Table, name: str) -> Row[Any]:
        found = self._find(connection, table, name)
        if found is None:
            known = ", ".join(self._names(connection, table)) or say("none yet")
            raise RecordError(say(_UNKNOWN[table.name], name=name, known=known))
        return found

    def _append(
        self,
        connection: Connection,
        table: Table,
        values: Mapping[str, Any],
        **points_at: Any,
    ) -> int:
        """Append a row that is sealed and never changed; `points_at` stands for the ids in it."""
        return seals.append(connection, table, self._shop, values, points_at)

    def _log_change(
        self,
        connection: Connection,
        who: str,
        what: str,
        before: object | None,
        after: object | None,
    ) -> None:
        def text(value: object | None) -> str | None:
            return None if value is None else json.dumps(value, default=str, sort_keys=True)

        self._append(
            connection,
            change_log,
            {
                "at": datetime.now(UTC),
                "who": who.strip(),
                "what": what,
                "before": text(before),
                "after": text(after),
            },
        )


_mine, _newer = coupon_revision.c, coupon_revision.alias("newer").c
_IS_NEWEST = ~(
    select(_newer.id)
    .where(_newer.coupon_id == _mine.coupon_id, _newer.revision > _mine.revision)
    .exists()
)


def is_newest() -> ColumnElement[bool]:
    """Return the condition that a revision has no newer one."""
    return _IS_NEWEST
