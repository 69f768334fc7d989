"""Practice copies: a shop's log as a file of its own, in which a class may try everything."""

from __future__ import annotations

import hashlib
import tempfile
from datetime import datetime
from pathlib import Path

from advisor.exchange.log_file import LogFile
from advisor.store.base import Trust
from advisor.store.engine import data_folder, file_url
from advisor.store.log import Log, open_log
from advisor.store.rows import name_key


def own_file(kind: str, who: str) -> Path:
    """Return where a file of a person's own lies, or would lie; its name does not tell theirs.

    Parameters
    ----------
    kind : str
        What the name of the file begins with.
    who : str
        The person.
    """
    mark = hashlib.sha256(name_key(who).encode()).hexdigest()[:16]
    return data_folder() / f"{kind}-{mark}.sqlite"


def practice_file(who: str) -> Path:
    """Return where a person's practice copy lies, or would lie."""
    return own_file("practice", who)


def practice_url(who: str) -> str:
    """Return the address of a person's practice copy."""
    return file_url(practice_file(who).name)


def make_practice_copy(log: Log, who: str, now: datetime | None = None) -> str:
    """Copy the whole log into a file of its own; a person's older practice copy is replaced.

    Parameters
    ----------
    log : Log
        The shop's log.
    who : str
        Who practises.
    now : datetime, optional
        Moment of copying; the clock's when left out.

    Returns
    -------
    str
        Address of the copy. It is marked as one, nobody has a PIN in it, and nothing done in it
        reaches the shop's log.

    Raises
    ------
    StoreError
        The data folder cannot be written, or has no room.
    """
    with tempfile.TemporaryDirectory() as folder:
        exported = Path(folder) / "log.jsonl"
        with exported.open("wb") as file:
            log.export_json_lines(file)
        drop_practice_copy(who)
        copy = open_log(practice_url(who))
        try:
            operator = copy.used_by(Trust.OPERATOR)
            operator.mark_copy(who)
            with exported.open("rb") as file:
                operator.bring_in(LogFile(file), who, now)
        finally:
            copy.close()
    return practice_url(who)


def drop_practice_copy(who: str) -> None:
    """Delete a person's practice copy."""
    drop_file(practice_file(who))


def drop_file(path: Path) -> None:
    """Delete a log in a file, with what its database keeps beside it.

    Parameters
    ----------
    path : Path
        The file; nothing happens where there is none.
    """
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
