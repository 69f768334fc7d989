"""What two copies of one log have in common: its schema, its rows, the ends of its chains."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, create_engine, func, inspect, select, table, text
from sqlalchemy.pool import NullPool

from advisor.errors import StoreError
from advisor.language import say
from advisor.store.disk import told
from advisor.store.schema import SEALED


@dataclass(frozen=True)
class Facts:
    """What two copies of one log have in common.

    Parameters
    ----------
    schema : str
        Version of its tables.
    rows : dict
        Number of rows by table.
    ends : dict
        Place and seal of the last row by sealed table and shop.
    """

    schema: str
    rows: dict[str, int]
    ends: dict[str, dict[str, list[Any]]]


@contextmanager
def reading(path: Path, *, live: bool = False) -> Iterator[Connection]:
    """Read one moment of a file of SQLite and change no byte of it.

    Parameters
    ----------
    path : Path
        The file.
    live : bool
        Whether others may write it meanwhile. Where nobody can, no ``-wal`` and ``-shm`` are made.
    """
    if not path.is_file():
        raise StoreError(say("there is no log at {file}", file=path))

    def opened() -> sqlite3.Connection:
        address = f"{path.absolute().as_uri()}?mode=ro{'' if live else '&immutable=1'}"
        return sqlite3.connect(address, uri=True, isolation_level=None, timeout=10)

    engine = create_engine(
        URL.create("sqlite", database=str(path)), creator=opened, poolclass=NullPool
    )
    with told(path), engine.connect() as connection:
        connection.exec_driver_sql("BEGIN")
        yield connection


def facts_of(connection: Connection, named: str = "") -> Facts:
    """Count what is in a log; refuse one of another program and one newer than this.

    Parameters
    ----------
    connection : Connection
        Inside the transaction that is counted.
    named : str
        What a sentence calls the log; its address when left out.
    """
    names = inspect(connection).get_table_names()
    if not {"alembic_version", "shop", "coupon"} <= set(names):
        raise StoreError(
            say(
                "{file} is no log of this program",
                file=named or connection.engine.url.database,
            )
        )
    schema = connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or ""
    check_schema(schema)
    rows = {
        name: connection.execute(select(func.count()).select_from(table(name))).scalar_one()
        for name in names
    }
    sealed = any(each["name"] == "seal" for each in inspect(connection).get_columns("rules"))
    ends = {t.name: _ends(connection, t.name) for t in SEALED if sealed and rows.get(t.name)}
    return Facts(schema, rows, ends)


def _ends(connection: Connection, name: str) -> dict[str, list[Any]]:
    last = text(
        f"SELECT shop_id, place, seal FROM {name} AS mine WHERE place = "  # noqa: S608  (our name)
        f"(SELECT max(place) FROM {name} AS theirs WHERE theirs.shop_id = mine.shop_id)"
    )
    return {str(shop): [place, seal] for shop, place, seal in connection.execute(last)}


def check_schema(schema: str) -> None:
    """Refuse tables of a newer version of this program."""
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(Path(__file__).parent.parent / "migrations"))
    if schema not in {each.revision for each in scripts.walk_revisions()}:
        raise StoreError(
            say(
                "the log was written by a newer version of this program (schema {schema}); install "
                "that version, this one does not touch it",
                schema=schema,
            )
        )


def photos_named(connection: Connection) -> set[str]:
    """Return the SHA-256 of every photo that a log names."""
    if not inspect(connection).has_table("coupon_photo"):
        return set()
    return set(connection.execute(text("SELECT DISTINCT sha256 FROM coupon_photo")).scalars())
