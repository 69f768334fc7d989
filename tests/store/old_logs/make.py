"""How the old logs beside this file were made, and how a test gets one.

A log grows as a real one did: the migration of a version, then what was written down with that
version (``rows_NNNN.sql``, plain SQL), then the next. What is left at the end is dumped as text
into ``NNNN.sql``. They are made once and never again: a change of an old migration has to show.

    python tests/store/old_logs/make.py NNNN      # only for a version that has no dump yet
"""

import sqlite3
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

import advisor.store

HERE = Path(__file__).parent
OLD = ("0001", "0002", "0003", "0004", "0005", "0006", "0007")


def upgrade(connection, revision):
    """Bring a database to a version as the program of that time did."""
    config = Config()
    folder = Path(advisor.store.__file__).parent / "migrations"
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def grow(path, revision):
    """Make a log in a file and let it grow until a version."""
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
    engine = sa.create_engine(f"sqlite:///{path}", poolclass=sa.NullPool)
    for each in OLD[: OLD.index(revision) + 1]:
        with engine.begin() as connection:
            upgrade(connection, each)
        with closing(sqlite3.connect(path)) as raw:
            raw.execute("PRAGMA foreign_keys=ON")
            raw.executescript((HERE / f"rows_{each}.sql").read_text(encoding="utf-8"))


def load(path, revision):
    """Load a dump into a file, as the old program left it: in write-ahead mode, closed."""
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.executescript((HERE / f"{revision}.sql").read_text(encoding="utf-8"))


def read(connection):
    """Return every row of every table that is there, moments with their zone."""
    tables = sa.MetaData()
    tables.reflect(connection)
    return {
        table.name: [
            {name: _with_zone(value) for name, value in row.items()}
            for row in connection.execute(sa.select(table)).mappings()
        ]
        for table in tables.sorted_tables
    }


def _with_zone(value):
    if not isinstance(value, datetime):
        return value
    return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def copy_to_server(rows, engine, revision):
    """Make the same log on a server: the same migrations, the same rows, ids counted on."""
    with engine.begin() as connection:
        upgrade(connection, revision)
        tables = sa.MetaData()
        tables.reflect(connection)
        # The rows of all shops are copied, which the owner of the tables may not once they are
        # kept apart.
        forced = sa.text("SELECT relname FROM pg_class WHERE relforcerowsecurity")
        apart = list(connection.execute(forced).scalars())
        for name in apart:
            connection.execute(sa.text(f'ALTER TABLE "{name}" NO FORCE ROW LEVEL SECURITY'))
        for table in tables.sorted_tables:
            if table.name == "alembic_version" or not rows[table.name]:
                continue
            connection.execute(sa.insert(table), rows[table.name])
            if "id" in table.c:
                count_on = sa.text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
                last = max(row["id"] for row in rows[table.name])
                connection.execute(count_on, {"name": table.name, "last": last})
        for name in apart:
            connection.execute(sa.text(f'ALTER TABLE "{name}" FORCE ROW LEVEL SECURITY'))


def main(revision):
    """Dump a log of a version beside this file."""
    path = HERE / f"{revision}.sqlite"
    try:
        grow(path, revision)
        with closing(sqlite3.connect(path)) as raw:
            lines = "\n".join(raw.iterdump())
    finally:
        path.unlink(missing_ok=True)
    with (HERE / f"{revision}.sql").open("x", encoding="utf-8", newline="\n") as dump:
        dump.write(lines + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
