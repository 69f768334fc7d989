"""One coupon written with as few words to the database as will do.

Logging a coupon is what the shop waits for, and every statement of a writer is one that the other
writers of the shop wait for too. So one statement reads where the log ends, one all that judging
needs, and the rows are sent together, in the driver's own form.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    Row,
    Select,
    Table,
    and_,
    bindparam,
    select,
)
from sqlalchemy.exc import DBAPIError

from advisor.coupons.purpose import SERIES, Earlier
from advisor.store import tally
from advisor.store.schema import (
    access,
    coupon,
    coupon_revision,
    interface_result,
    machine,
    rules,
    shop,
    stack,
    welder,
)
from advisor.store.schema import tally as tally_table
from advisor.weld.setting import CURRENT_STEP_KA, NUMBERS, Setting

_R = coupon_revision
_MINE: BindParameter[int] = bindparam("shop")


def _newest(table: Table, column: str, order: str) -> Any:
    query = select(table.c[column]).where(table.c.shop_id == _MINE)
    return query.order_by(table.c[order].desc()).limit(1).scalar_subquery()


def _known() -> Select[Any]:
    found_by_name = [
        and_(t.c.shop_id == shop.c.id, t.c.name_key == bindparam(t.name)) for t in (welder, machine)
    ]
    actor = welder.alias("actor")
    laid = and_(stack.c.shop_id == shop.c.id, stack.c.fingerprint == bindparam("fingerprint"))
    return (
        select(
            machine,
            shop.c.is_demo,
            shop.c.is_copy,
            access.c.role,
            access.c.left_at,
            welder.c.id.label("who_id"),
            welder.c.name.label("who"),
            stack.c.id.label("stack_id"),
            rules.c.id.label("rules_id"),
            rules.c.body.label("rules_body"),
            rules.c.seal.label("rules_seal"),
        )
        .select_from(
            shop.join(welder, found_by_name[0])
            .join(machine, found_by_name[1])
            .join(stack, laid)
            .join(rules, rules.c.id == _newest(rules, "id", "id"))
            .join(actor, and_(actor.c.shop_id == shop.c.id, actor.c.name_key == bindparam("by")))
            .join(access, access.c.welder_id == actor.c.id)
        )
        .where(shop.c.id == _MINE)
    )


_KNOWN = _known()
_CURRENT = NUMBERS.index("current_kA")
_HEAD = """
SELECT coalesce((SELECT max(number) FROM coupon WHERE shop_id = {shop}), 0),
       coalesce((SELECT max(place) FROM coupon_revision WHERE shop_id = {shop}), 0),
       coalesce((SELECT seal FROM coupon_revision WHERE shop_id = {shop}
                 ORDER BY place DESC LIMIT 1), ''),
       {ids}
"""
_HEADS = {
    # Nobody else writes to the file meanwhile.
    "sqlite": _HEAD.format(
        shop=":shop",
        ids="coalesce((SELECT max(id) FROM coupon), 0) + 1, "
        "coalesce((SELECT max(id) FROM coupon_revision), 0) + 1",
    ),
    "postgresql": _HEAD.format(
        shop="%(shop)s", ids="nextval('coupon_id_seq'), nextval('coupon_revision_id_seq')"
    ),
}


_EARLIER = """
SELECT r.outcome, r.pulses, {numbers} FROM coupon_revision AS r
WHERE r.shop_id = {shop} AND r.stack_id = {stack} AND r.made_at >= {since} AND r.made_at < {until}
  AND r.machine_id = {machine} AND r.job = {job} AND r.voided = '' AND NOT EXISTS (
    SELECT 1 FROM coupon_revision AS n WHERE n.coupon_id = r.coupon_id AND n.revision > r.revision)
"""
_ASKED = ("shop", "stack", "since", "until", "machine", "job")
_EARLIERS = {
    dialect: _EARLIER.format(
        numbers=", ".join(f'r."{name}"' for name in NUMBERS),
        **{name: mark.format(name) for name in _ASKED},
    )
    for dialect, mark in (("sqlite", ":{}"), ("postgresql", "%({})s"))
}


@dataclass(frozen=True)
class Head:
    """Where the log of a shop ends, inside a transaction that holds the shop.

    Parameters
    ----------
    last_number : int
        Number of the newest coupon.
    last_place : int
        Place of the newest revision in the chain.
    last_seal : str
        Its seal.
    new_coupon, new_revision : int
        Ids for the rows of the next coupon.
    """

    last_number: int
    last_place: int
    last_seal: str
    new_coupon: int
    new_revision: int


def known(
    connection: Connection, shop_id: int, names: Mapping[str, str]
) -> Row[*tuple[Any, ...]] | None:
    """Return all that judging one coupon needs.

    Parameters
    ----------
    connection : Connection
        For reading.
    shop_id : int
        The shop.
    names : mapping
        Keys of ``welder`` and ``machine`` and ``by`` (who writes), ``fingerprint`` of the stack.

    Returns
    -------
    Row or None
        Columns of the machine; ``who_id``, ``who``, ``stack_id``; id, body and seal of the newest
        rules; what says what the writer may do. None when anything is not there yet: the longer
        way adds it, or says what is missing.
    """
    return connection.execute(_KNOWN, {"shop": shop_id, **names}).one_or_none()


def head(connection: Connection, shop_id: int) -> Head:
    """Return where the log of a shop ends, inside a transaction that holds the shop."""
    driver: Any = connection.connection.driver_connection
    with _as_sqlalchemy(connection):
        found = driver.execute(_HEADS[connection.dialect.name], {"shop": shop_id})
        return Head(*found.fetchone())


def earlier(
    connection: Connection, shop_id: int, values: Mapping[str, Any], current_kA: float
) -> list[Earlier]:
    """Return the coupons of the series of a new one that were welded before it.

    Parameters
    ----------
    connection : Connection
        Inside the transaction that writes.
    shop_id : int
        The shop.
    values : mapping
        Columns of the new revision.
    current_kA : float
        Its current. Of coupons welded with another one nothing but that they are there matters,
        and one stands for all. [kA]
    """
    asked = {
        "shop": shop_id,
        "stack": values["stack_id"],
        "machine": values["machine_id"],
        "job": values["job"],
        "since": values["made_at"] - SERIES,
        "until": values["made_at"],
    }
    dialect = connection.dialect.name
    if dialect == "sqlite":
        asked = {name: _text(value) for name, value in asked.items()}
    driver: Any = connection.connection.driver_connection
    with _as_sqlalchemy(connection):
        found = driver.execute(_EARLIERS[dialect], asked).fetchall()
    near = [
        Earlier(Setting(pulses=pulses, **dict(zip(NUMBERS, numbers, strict=True))), True)
        for outcome, pulses, *numbers in found
        if outcome == "pass" and abs(numbers[_CURRENT] - current_kA) < CURRENT_STEP_KA
    ]
    other = Earlier(Setting(current_kA, 10, 1), False)
    return near or [other for _ in found[:1]]


def send(
    connection: Connection,
    new_coupon: Mapping[str, Any],
    revision: Mapping[str, Any],
    results: Sequence[Mapping[str, Any]],
) -> None:
    """Write the rows of one new coupon, whose revision is sealed, and count it."""
    statements = [
        _insert(connection, coupon, [new_coupon]),
        _insert(connection, _R, [revision]),
        _insert(connection, interface_result, results),
        _insert(connection, tally_table, tally.changes([revision]), tally.ADD_UP),
    ]
    driver: Any = connection.connection.driver_connection
    if connection.dialect.name == "postgresql":
        statements = [_as_one(statements)]
    with _as_sqlalchemy(connection), closing(driver.cursor()) as cursor:
        for sql, values in statements:
            cursor.execute(sql, values)


def _as_one(statements: Sequence[tuple[str, tuple[Any, ...]]]) -> tuple[str, tuple[Any, ...]]:
    """Write several inserts as one statement; its foreign keys are looked at when all are done."""
    *first, (last, _) = statements
    parts = ", ".join(f"w{n} AS ({sql})" for n, (sql, _) in enumerate(first))
    return f"WITH {parts} {last}", tuple(value for _, values in statements for value in values)


@contextmanager
def _as_sqlalchemy(connection: Connection) -> Iterator[None]:
    """Let an error of the driver come out as every other one does."""
    try:
        yield
    except connection.dialect.loaded_dbapi.Error as error:
        raise DBAPIError("rows of one coupon", None, error) from error


_SQL: dict[tuple[Any, ...], str] = {}


def _insert(
    connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]], ending: str = ""
) -> tuple[str, tuple[Any, ...]]:
    dialect = connection.dialect.name
    key = (dialect, table.name, len(rows), *rows[0])
    if key not in _SQL:
        mark = "?" if dialect == "sqlite" else "%s"
        one = f"({', '.join(mark for _ in rows[0])})"
        names = ", ".join(f'"{name}"' for name in rows[0])
        every = ", ".join(one for _ in rows)
        _SQL[key] = f"INSERT INTO {table.name} ({names}) VALUES {every} {ending}"  # noqa: S608
    values = (value for row in rows for value in row.values())
    if dialect == "sqlite":
        values = (_text(value) for value in values)
    return _SQL[key], tuple(values)


def _text(value: Any) -> Any:
    """Write a moment or a day as SQLAlchemy does for SQLite, which has no type for them."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).replace(tzinfo=None).isoformat(" ", "microseconds")
    return value.isoformat() if isinstance(value, date) else value
