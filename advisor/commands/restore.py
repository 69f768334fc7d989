"""Put a backup in the place of the log, once it has been read from end to end.

The present log is kept beside it. Close the app first. A log on a PostgreSQL server is not touched:
the commands that restore it are printed instead.
"""

from __future__ import annotations

import argparse
import os
import shlex
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from hashlib import file_digest
from pathlib import Path

from sqlalchemy import URL, make_url, select

from advisor.errors import StoreError
from advisor.language import say
from advisor.store.backups.backup import description, folder_of, log_file, read_back
from advisor.store.backups.dumps import is_dump
from advisor.store.backups.facts import Facts, photos_named, reading
from advisor.store.backups.photos import copy_photos, missing_photos
from advisor.store.base import Trust
from advisor.store.disk import sync, told
from advisor.store.engine import connect
from advisor.store.log import Log, default_url
from advisor.store.schema import shop

#: Endings of the files that a log is in; ``-shm`` is made anew.
_PARTS = ("", "-wal")


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a backup of this program")
    parser.add_argument("--yes", action="store_true", help="do not ask")


def run(chosen: argparse.Namespace) -> int:
    """Restore; 0 when it is done, 1 when the answer was no, 2 when a server needs its own tools."""
    url, file = default_url(), chosen.file
    log = log_file(url)
    _check_kind(file, log)
    if log is None:
        return _explain_server(url, file)
    with told(log.parent), _staged(file, log) as staged:
        print(_words(file, _check(file, staged)))
        if not chosen.yes and not _is_wanted(log):
            print(say("nothing was changed"))
            return 1
        _restore_photos(staged, file.absolute().parent / "photos", folder_of(url) / "photos")
        kept = _swap(staged, log)
    sync(log.parent)
    print(say("restored to {file}", file=log))
    if kept:
        print(say("the log as it was before lies in {file}", file=kept))
    else:
        print(say("there was no log before"))
    return 0


def _check_kind(file: Path, log: Path | None) -> None:
    if is_dump(file) and log:
        raise StoreError(
            say(
                "{file} is a backup of a log on a PostgreSQL server, and this log is a file; let "
                "ADVISOR_DATABASE_URL name a server; nothing was changed",
                file=file,
            )
        )
    if not log and not is_dump(file):
        raise StoreError(
            say(
                "{file} is no backup of a log on a server; let ADVISOR_DATABASE_URL name a file to "
                "restore one; nothing was changed",
                file=file,
            )
        )
    if log and log.exists() and file.samefile(log):
        raise StoreError(
            say("{file} is the log itself; choose a backup; nothing was changed", file=file)
        )


def _words(file: Path, facts: Facts) -> str:
    return say(
        "{file}: {coupons} coupons, {jobs} jobs, schema {schema}; read from end to end",
        file=file,
        coupons=facts.rows["coupon"],
        jobs=facts.rows["job"],
        schema=facts.schema,
    )


def _is_wanted(log: Path) -> bool:
    if not log.exists():
        return True
    yes = say("yes")
    asked = say("It takes the place of {file}. Type {yes} to go on: ", file=log, yes=yes)
    try:
        return input(asked).strip() in ("yes", yes)
    except EOFError:
        return False


@contextmanager
def _staged(file: Path, log: Path) -> Iterator[Path]:
    """Copy a backup into a folder of its own on the disk of the log: it is opened only there."""
    with told(log.parent):
        log.parent.mkdir(parents=True, exist_ok=True)
        folder = Path(tempfile.mkdtemp(prefix="restoring-", dir=log.parent))
    try:
        with told(say("{file}, copied to {folder}", file=file, folder=log.parent)):
            copy_raw(file, folder / log.name)
        yield folder / log.name
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def copy_raw(source: Path, target: Path) -> None:
    """Copy a log that nobody has open, byte by byte, with what a crash left in its ``-wal``."""
    for ending in _PARTS:
        part = _beside(source, ending)
        if not ending or (part.exists() and part.stat().st_size):
            shutil.copyfile(part, _beside(target, ending))
            sync(_beside(target, ending))


def _check(file: Path, staged: Path) -> Facts:
    """Refuse what is damaged, foreign, newer or not as it was sealed; bring it up to date."""
    says = description(file)
    with told(staged), staged.open("rb") as content:
        if says and says["sha256"] != file_digest(content, "sha256").hexdigest():
            raise StoreError(
                say(
                    "{file}: the file is not as it was made, damaged or cut off (its SHA-256 "
                    "differs from the one written beside it); take another backup; nothing was "
                    "changed",
                    file=file,
                )
            )
    _to_one_file(file, staged)
    found = read_back(staged, str(file))
    connect(URL.create("sqlite", database=str(staged)).render_as_string()).dispose()
    _to_one_file(file, staged)
    if wrong := faults(staged):
        raise StoreError(say("{file}: {trouble}; nothing was changed", file=file, trouble=wrong[0]))
    sync(staged)
    return found


def _to_one_file(file: Path, staged: Path) -> None:
    """Take what is in a ``-wal`` into the file, so that the file is all of it."""
    with told(file), closing(sqlite3.connect(staged, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")


class _RowsAlone(Log):
    """A log whose photos lie elsewhere: one that is missing is told, but is no reason to refuse."""

    def photo_faults(self) -> Iterator[str]:
        """Leave the photos out."""
        return iter(())


def faults(path: Path) -> list[str]:
    """Walk the seals of every shop in a file, and name what does not fit.

    Parameters
    ----------
    path : Path
        A log in one file that nobody has open.

    Returns
    -------
    list of str
        Empty when all fits, and for a log of the time before there were seals.
    """
    with reading(path) as connection:
        if not connection.dialect.has_table(connection, "tally"):
            return []
        found = []
        for shop_id, name in connection.execute(select(shop.c.id, shop.c.name)).all():
            report = _RowsAlone(connection.engine, shop_id).used_by(Trust.OPERATOR).verify()
            wrong = [*(each.wrong for each in report.chains if each.wrong), *report.faults]
            found += [
                say("the seals of shop {name} do not fit: {trouble}", name=name, trouble=each)
                for each in wrong
            ]
    return found


def _restore_photos(staged: Path, source: Path, target: Path) -> None:
    """Bring back the photos that are missing; those that are there stay."""
    with reading(staged) as connection:
        named = photos_named(connection)
    for line in (*copy_photos(source, target), *missing_photos(named, target)):
        print(line)


def _swap(staged: Path, log: Path) -> Path | None:
    """Keep the present log under another name and put the new one in its place."""
    kept = log.with_name(f"{log.stem}-before-restore-{datetime.now(UTC):%Y-%m-%dT%H%M%SZ}.sqlite")
    if kept.exists():
        raise StoreError(say("{file} is there already; wait a second and try again", file=kept))
    with told(log.parent), _dropped_unless_done(kept):
        if there := log.exists():
            before = _marks(log)
            copy_raw(log, kept)
            _refuse_open(log, before)
            for ending in ("-wal", "-shm"):  # they would be taken for the new file's
                _beside(log, ending).unlink(missing_ok=True)
            shutil.copymode(log, staged)
        os.replace(staged, log)
    return kept if there else None


def _beside(log: Path, ending: str) -> Path:
    return log.with_name(f"{log.name}{ending}")


def _marks(log: Path) -> list[tuple[int, int]]:
    """Return size and time of what a log is in; an empty ``-wal`` is as good as none."""
    states = [file.stat() for file in (log, _beside(log, "-wal")) if file.exists()]
    return [(state.st_size, state.st_mtime_ns) for state in states if state.st_size]


@contextmanager
def _dropped_unless_done(kept: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        for ending in _PARTS:
            _beside(kept, ending).unlink(missing_ok=True)
        raise


def _refuse_open(log: Path, before: list[tuple[int, int]]) -> None:
    """Try to have the log for ourselves alone: whoever has it open holds a lock on it.

    Between this and the change of names are some microseconds in which the app could be opened.
    """
    with closing(sqlite3.connect(log, timeout=0, isolation_level=None)) as alone:
        try:
            alone.execute("PRAGMA locking_mode=EXCLUSIVE")
            alone.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as error:
            if "locked" not in str(error):
                return  # too damaged to be open anywhere; it is kept as it is
            raise StoreError(
                say(
                    "{file} is open in another program, most likely the app (this command could "
                    "not lock it for itself alone); close the app and try again; nothing was "
                    "changed",
                    file=log,
                )
            ) from error
        if _marks(log) != before:
            raise StoreError(
                say("{file} was written meanwhile; try again; nothing was changed", file=log)
            )


def _explain_server(url: str, file: Path) -> int:
    print(_words(file, read_back(file)))
    print(say("A log on a server is restored with the server's own tools, into a new database:"))
    for command in server_commands(url, file):
        print("   ", shlex.join(command))
    print(
        say("Then let ADVISOR_DATABASE_URL name the new database. Photos: copy the folder photos/.")
    )
    return 2


def server_commands(url: str, file: Path) -> list[list[str]]:
    """Return the commands that restore a dump, for the person who runs the server."""
    address = make_url(url)
    name = f"{address.database}_restored"
    known = {"host": address.host, "port": address.port, "username": address.username}
    server = [f"--{what}={value}" for what, value in known.items() if value]
    restore = ["pg_restore", *server, "--exit-on-error", "--single-transaction", "--no-owner"]
    return [["createdb", *server, name], [*restore, f"--dbname={name}", str(file)]]
