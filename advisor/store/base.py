"""What every part of the log shares: transactions, the shop, and looking things up by name."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Engine, Row, Table, insert, select

from advisor.errors import InputError, RecordError
from advisor.store.engine import explained
from advisor.store.rows import name_key
from advisor.store.schema import change_log, coupon_revision, shop


class Base:
    """One shop's part of a database.

    Parameters
    ----------
    engine : Engine
        Opened by `engine.connect`.
    shop_id : int
        The shop; no method reads or writes another's rows.
    """

    def __init__(self, engine: Engine, shop_id: int) -> None:
        self._engine = engine
        self._shop = shop_id
        self._writer = engine.execution_options(writes=True)

    @property
    def url(self) -> str:
        """Address of the database, without its password."""
        return self._engine.url.render_as_string(hide_password=True)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with explained(self.url), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _writing(self, by: str) -> Iterator[Connection]:
        """Open a transaction that writes; other writers of this shop wait."""
        if not by.strip():
            raise InputError(
                "nobody is named as the one who writes this; choose your name at the top"
            )
        with explained(self.url), self._writer.begin() as connection:
            connection.execute(select(shop.c.id).where(shop.c.id == self._shop).with_for_update())
            yield connection

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
            known = ", ".join(self._names(connection, table)) or "none yet"
            raise RecordError(
                f"no {table.name} is called {name!r}; known: {known} (Shop set-up adds one)"
            )
        return found

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

        connection.execute(
            insert(change_log).values(
                shop_id=self._shop,
                at=datetime.now(UTC),
                who=who.strip(),
                what=what,
                before=text(before),
                after=text(after),
            )
        )


def is_newest() -> ColumnElement[bool]:
    """Return the condition that a revision has no newer one."""
    mine, newer = coupon_revision.c, coupon_revision.alias("newer").c
    return ~(
        select(newer.id)
        .where(newer.coupon_id == mine.coupon_id, newer.revision > mine.revision)
        .exists()
    )
