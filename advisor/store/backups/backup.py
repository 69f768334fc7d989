"""Copies of the log that are read back before they count, made while everybody goes on writing.

SQLite: the backup interface, inside a reading transaction, copies the very pages whose rows were
counted a moment before; ``VACUUM INTO`` runs in no transaction, so nothing could be compared. No
file of a log that may be open is ever opened but through SQLite: closing one takes away the locks
that the same process holds on it.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, create_engine, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import NullPool

from advisor import __version__
from advisor.errors import StoreError
from advisor.language import say
from advisor.store.backups.dumps import choose_shop, dump, dump_facts, is_dump
from advisor.store.backups.facts import Facts, facts_of, photos_named, reading
from advisor.store.backups.photos import copy_photos, missing_photos
from advisor.store.disk import make_private, removed, sync, told, write_whole
from advisor.store.engine import data_folder, default_shop, explained

WHAT = "backup of a weld coupon log"


@dataclass(frozen=True)
class Backup:
    """A backup that was read back and found equal to the log.

    Parameters
    ----------
    path : Path
        The file; its description lies beside it as ``.json``.
    at : datetime
        When it was made.
    facts : Facts
        What it holds.
    warnings : tuple of str
        Photos that are damaged, missing or could not be copied.
    """

    path: Path
    at: datetime
    facts: Facts
    warnings: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return it in one line."""
        done = done_words(self.at, self.coupons, self.path)
        return "; ".join((done, *self.warnings))

    @property
    def coupons(self) -> int:
        """How many coupons it holds."""
        return self.facts.rows.get("coupon", 0)


def done_words(at: datetime, coupons: int, path: Path | str) -> str:
    """Say that a backup was made: when, of how many coupons, and where it lies."""
    return say(
        "backed up {at:%Y-%m-%d %H:%M} UTC, {coupons} coupons: {file}",
        at=at,
        coupons=coupons,
        file=path,
    )


def log_file(url: str) -> Path | None:
    """Return the file of a log, None where the log is on a server."""
    try:
        address = make_url(url)
    except ArgumentError as error:
        raise StoreError(
            say("the address of the log cannot be used ({problem})", problem=error)
        ) from error
    if address.get_backend_name() != "sqlite":
        return None
    if not address.database or address.database.startswith((":", "file:")):
        raise StoreError(say("only a log in a file of its own, or on a server, can be backed up"))
    return Path(address.database).absolute()


def folder_of(url: str) -> Path:
    """Return the folder that ``photos/`` and ``backups/`` of a log are in."""
    path = log_file(url)
    return path.parent if path else data_folder()


def stem_of(url: str) -> str:
    """Return what the backups of a log are named after."""
    path = log_file(url)
    return path.stem if path else str(make_url(url).database)


def back_up(url: str, folder: Path, now: datetime, shop_name: str | None = None) -> Backup:
    """Copy a log and its photos, and read the copy back.

    Parameters
    ----------
    url : str
        SQLAlchemy address of the log.
    folder : Path
        Where the backup goes; made when it is not there.
    now : datetime
        Moment that the file is named after.
    shop_name : str, optional
        The shop whose rows a role of PostgreSQL sees that is no superuser.

    Raises
    ------
    StoreError
        There is no log, it is damaged or newer than the program, or the disk cannot take it;
        nothing but whole backups is left.
    """
    log = log_file(url)
    if log and not log.is_file():
        raise StoreError(say("there is no log at {file}; nothing to back up", file=log))
    ending = "sqlite" if log else "dump"
    path = folder / f"{stem_of(url)}-{now.astimezone(UTC):%Y-%m-%dT%H%M%SZ}.{ending}"
    with told(folder):
        folder.mkdir(parents=True, exist_ok=True)
    if path.exists():
        raise StoreError(say("{file} is there already; wait a second and try again", file=path))
    facts, photos = _make(url, path, shop_name or default_shop())
    with told(path):
        _describe(path, now, facts)
    warnings = _photo_warnings(folder_of(url) / "photos", folder / "photos", photos)
    return Backup(path, now, facts, tuple(warnings))


def before_upgrade(path: Path, version: str) -> Path:
    """Copy a log in a file beside itself, before its tables become those of a newer version."""
    copy = path.with_name(f"{path.stem}-before-{version}{path.suffix}")
    _make(URL.create("sqlite", database=str(path)).render_as_string(), copy, "")
    return copy


def _make(url: str, path: Path, shop_name: str) -> tuple[Facts, set[str]]:
    """Write a copy under another name, compare it with the log, and put it in its place."""
    part = path.with_name(f"{path.name}.part")
    with told(path.parent), removed(part):
        make_private(part)
        with snapshot(url, shop_name) as source:
            facts, photos = facts_of(source), photos_named(source)
            if source.dialect.name == "sqlite":
                _copy_pages(source, part)
            else:
                dump(source, part)
        sync(part)
        if read_back(part, say("the log for {file}", file=path.name)) != facts:
            raise StoreError(
                say("{file}: the copy differs from the log and was thrown away", file=path)
            )
        os.replace(part, path)
        sync(path.parent)
    return facts, photos


@contextmanager
def snapshot(url: str, shop_name: str) -> Iterator[Connection]:
    """Hold one moment of a log still, for reading."""
    if path := log_file(url):
        with reading(path, live=True) as connection:
            yield connection
        return
    try:
        engine = create_engine(url, poolclass=NullPool, isolation_level="REPEATABLE READ")
    except (ArgumentError, ImportError) as error:
        raise StoreError(
            say("the driver of the server is not installed ({problem})", problem=error)
        ) from error
    with explained(url), engine.begin() as connection:
        choose_shop(connection, shop_name)
        yield connection


def _copy_pages(source: Connection, part: Path) -> None:
    driver: Any = source.connection.driver_connection
    with told(part.parent), closing(sqlite3.connect(part, isolation_level=None)) as target:
        driver.backup(target)  # in one step, within the transaction that counted
        target.execute("PRAGMA journal_mode=DELETE")  # one file is all of it


def read_back(path: Path, named: str = "") -> Facts:
    """Read a backup from its first byte to its last.

    Parameters
    ----------
    path : Path
        The file.
    named : str
        What a sentence calls it; its path when left out.

    Raises
    ------
    StoreError
        It is damaged, no log, or newer than the program.
    """
    named = named or str(path)
    if is_dump(path):
        return dump_facts(path, named)
    with told(named), reading(path) as connection:
        found = list(connection.exec_driver_sql("PRAGMA integrity_check").scalars())
        if found != ["ok"] or connection.exec_driver_sql("PRAGMA foreign_key_check").first():
            dangling = say("a row points at one that is not there")
            raise StoreError(
                say(
                    "{file}: the file is damaged ({problem}); keep it, take another backup",
                    file=named,
                    problem=found[0] if found != ["ok"] else dangling,
                )
            )
        return facts_of(connection, named)


def _describe(path: Path, now: datetime, facts: Facts) -> None:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    says = {
        "what": WHAT,
        "file": path.name,
        "at": now.astimezone(UTC).isoformat(timespec="seconds"),
        "program": __version__,
        "bytes": path.stat().st_size,
        "sha256": digest,
        **asdict(facts),
    }
    write_whole(path.with_suffix(".json"), json.dumps(says, indent=1).encode())


def description(path: Path) -> dict[str, Any] | None:
    """Return what was written down beside a backup; None where it is not one of this program."""
    try:
        says = json.loads(path.with_suffix(".json").read_bytes())
    except (OSError, ValueError):
        return None
    ours = isinstance(says, dict) and says.get("what") == WHAT and says.get("file") == path.name
    return says if ours else None


def _photo_warnings(source: Path, target: Path, named: set[str]) -> list[str]:
    try:
        wrong = copy_photos(source, target)
    except StoreError as error:  # the log itself is safe by now
        return [say("photos were not all copied: {problem}", problem=error)]
    return [*wrong, *missing_photos(named, target)]
