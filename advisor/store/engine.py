"""Opening a database: pragmas, migrations, and sentences for what can go wrong.

SQLite: write-ahead log, full synchronous (a power cut loses nothing that was acknowledged), and
``BEGIN IMMEDIATE`` for everything that writes, because a deferred transaction that reads first and
writes later fails at once when another tablet has written in between.
"""

from __future__ import annotations

import os
import random
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError

from advisor.errors import StoreError
from advisor.language import msg, say
from advisor.store.texts import check_statement

APP = "weld-coupon-advisor"
# The wait comes first: changing to the write-ahead log may have to wait itself.
_PRAGMAS = ("busy_timeout=30000", "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON")
#: Choice of this project.
_FIRST_WAIT_S, _NEXT_WAIT_S, _LONGEST_WAIT_S = 0.0002, 0.002, 30.0
_MIGRATIONS = Path(__file__).parent / "migrations"
_OPENING_LOCK = 20150  # any number that other programs on the server are unlikely to lock


def data_folder() -> Path:
    """Return the folder of the log: ``ADVISOR_DATA_DIR``, or the user's data folder."""
    chosen = os.environ.get("ADVISOR_DATA_DIR")
    return Path(chosen) if chosen else user_data_path(APP, appauthor=False)


def default_url() -> str:
    """Return the address of the shop's log: ``ADVISOR_DATABASE_URL``, or a file."""
    return os.environ.get("ADVISOR_DATABASE_URL") or file_url("log.sqlite")


def default_shop() -> str:
    """Return the name of the shop in its database: ``ADVISOR_SHOP``, or simply "Shop"."""
    return os.environ.get("ADVISOR_SHOP", "").strip() or "Shop"


def demo_url() -> str:
    """Return the address of the demo shop, a file of its own."""
    return file_url("demo.sqlite")


def file_url(name: str) -> str:
    """Return the address of a file; a folder may have %, ? or # in its name."""
    return URL.create("sqlite", database=str(data_folder() / name)).render_as_string()


def connect(url: str) -> Engine:
    """Open a database and bring its tables up to date.

    Parameters
    ----------
    url : str
        SQLAlchemy address.

    Returns
    -------
    Engine
        Engine whose tables are those of this version.

    Raises
    ------
    StoreError
        The address, folder or file cannot be used, or a newer version of the program wrote it.
    """
    try:
        address = make_url(url)
        engine = create_engine(address, **_pool_of(address))
    except (ArgumentError, ImportError) as error:
        raise StoreError(
            say(
                "the address of the log cannot be used ({problem}); ADVISOR_DATABASE_URL must be "
                "like sqlite:///folder/log.sqlite or postgresql+psycopg://user@server/log, with "
                "the server's driver installed",
                problem=error,
            )
        ) from error
    event.listen(engine, "before_cursor_execute", check_statement)
    if engine.dialect.name == "sqlite":
        _make_folder(engine.url.database or "")
        _tame_sqlite(engine)
    try:
        with explained(url):
            _migrate(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _pool_of(address: URL) -> dict[str, Any]:
    """Return how connections are pooled: in a file the last one has its pages still in memory."""
    in_file = address.get_backend_name() == "sqlite" and address.database not in (
        None,
        "",
        ":memory:",
    )
    return {"pool_use_lifo": True} if in_file else {}


def _make_folder(database: str) -> None:
    if database.startswith("file:"):  # an address of SQLite's own, not a path
        return
    folder = Path(database).parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            say(
                "the folder {folder} cannot be made ({problem}); choose another with --data FOLDER",
                folder=folder,
                problem=error.strerror,
            )
        ) from error


def _tame_sqlite(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def _connect(connection: sqlite3.Connection, _: Any) -> None:
        connection.isolation_level = None
        for pragma in _PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writes", False):
            _begin_writing(connection.connection.driver_connection)
        else:
            connection.exec_driver_sql("BEGIN")


_turns: dict[str, threading.Lock] = {}


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a transaction that writes.

    The threads of this program take turns before they ask SQLite, whose own waiting is blind; the
    one whose turn it is gets the connection that wrote last, with its pages still in memory.
    """
    if engine.dialect.name != "sqlite":
        with engine.begin() as connection:
            yield connection
        return
    turn = _turns.setdefault(engine.url.database or "", threading.Lock())
    if not turn.acquire(timeout=_LONGEST_WAIT_S):
        raise StoreError(
            say(
                "{log}: the log was being written for {waited:g} s, as by a long import; nothing "
                "was stored, try again when that is done",
                log=_place(engine.url),
                waited=_LONGEST_WAIT_S,
            )
        )
    try:
        with engine.begin() as connection:
            yield connection
    finally:
        turn.release()


def _begin_writing(driver: Any) -> None:
    """Wait for the turn to write.

    SQLite's own waiting sleeps ever longer, up to a tenth of a second, and so lets the file lie
    idle between two writers; asking again after a millisecond or two serves all of them sooner.
    """
    driver.execute("PRAGMA busy_timeout=0")
    until = time.monotonic() + _LONGEST_WAIT_S
    wait_s = _FIRST_WAIT_S
    try:
        while True:
            try:
                driver.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > until:
                    raise DBAPIError("BEGIN IMMEDIATE", None, error) from error
            time.sleep(wait_s * (0.5 + random.random()))  # noqa: S311  (nobody guesses a wait)
            wait_s = min(wait_s * 1.2, _NEXT_WAIT_S)
    finally:
        driver.execute(f"PRAGMA {_PRAGMAS[0]}")


def bind_shop(engine: Engine, shop_id: int) -> None:
    """Let a PostgreSQL server show this engine's connections the rows of one shop only.

    The policies of the tables compare each row's shop with this setting. They hold for the owner of
    the tables too, but never for a superuser: connect as an ordinary role.
    """
    if engine.dialect.name != "postgresql":
        return

    @event.listens_for(engine, "connect")
    def _connect(connection: Any, _: Any) -> None:
        connection.execute(f"SET advisor.shop = '{int(shop_id)}'")
        connection.execute("SET lock_timeout = '30s'")
        connection.commit()

    engine.dispose()


@contextmanager
def opening(engine: Engine) -> Iterator[Connection]:
    """Open a writing transaction that one process at a time is in, before there are tables."""
    with engine.execution_options(writes=True).begin() as connection:
        if connection.dialect.name == "postgresql":
            # SQLite needs no lock: its BEGIN IMMEDIATE is one.
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _OPENING_LOCK})
        yield connection


def _migrate(engine: Engine) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    scripts = ScriptDirectory.from_config(config)
    known = {script.revision for script in scripts.walk_revisions()}
    with opening(engine) as connection:
        found = _version(connection)
        if found is not None and found not in known:
            raise StoreError(
                say(
                    "the log was written by a newer version of this program (schema {schema}); "
                    "install that version, this one does not touch it",
                    schema=found,
                )
            )
        if found != (head := scripts.get_current_head()):
            if found is not None:
                _keep_old(engine, str(head))
            config.attributes["connection"] = connection
            command.upgrade(config, "head")


def _keep_old(engine: Engine, version: str) -> None:
    """Copy a log in a file before its tables change; a server's log is its operator's to keep."""
    file = engine.url.database or ":memory:"
    if engine.dialect.name != "sqlite" or file.startswith((":", "file:")):
        return
    from advisor.store.backups.backup import before_upgrade  # it needs this module itself

    before_upgrade(Path(file), version)


def _version(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return found


_SENTENCES = (
    (
        "unable to open database file",
        msg("the file or its folder cannot be opened; check the folder"),
    ),
    ("readonly", msg("the file or its folder cannot be written; check its rights")),
    ("read-only", msg("the database cannot be written; check the rights of its user")),
    ("disk is full", msg("the disk is full; nothing was stored: make room and enter it again")),
    (
        "no space left",
        msg("the server's disk is full; nothing was stored: make room, enter it again"),
    ),
    (
        "disk i/o error",
        msg("the disk cannot be read or written; check that it is there and not full"),
    ),
    ("database is locked", msg("another program holds the log; close it and try again")),
    ("not a database", msg("the file is no log of this program; move it away or choose another")),
    ("malformed", msg("the file is damaged; keep it, and take the newest backup")),
    (
        "connection failed",
        msg("the database server cannot be reached or refused; check the address"),
    ),
    ("lock timeout", msg("another program holds the log; close it and try again")),
    (
        "permission denied",
        msg("the database refuses its user; ask who runs the server for the right"),
    ),
    ("out of range", msg("a number is too large for the log")),
    ("terminating connection", msg("the database server was restarted; try again")),
    (
        "closed the connection",
        msg("the database server went away; try again, then ask who runs it"),
    ),
)


@contextmanager
def explained(url: str | URL) -> Iterator[None]:
    """Turn a database's error into a sentence; anything else stays loud."""
    try:
        yield
    except DBAPIError as error:
        said = str(error.orig)
        for sign, sentence in _SENTENCES:
            if sign in said.casefold():
                raise StoreError(f"{_place(url)}: {say(sentence)}") from error
        raise


def _place(url: str | URL) -> str:
    """Return where a log is, for a person: its file, or its server without the password."""
    address = make_url(url)
    if address.get_backend_name() == "sqlite":
        return address.database or say("the log in memory")
    return address.render_as_string(hide_password=True)
