"""Files that are written whole or not at all, and what the disk said, in a sentence."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from advisor.errors import AdvisorError, StoreError
from advisor.language import msg, say

_SIGNS = (
    (
        r"no space left|disk is full|too large|disk i/o",
        msg("{place}: the disk is full or cannot be written; nothing was changed"),
    ),
    (
        r"read-?only|permission denied|not permitted",
        msg("{place}: it cannot be written; check its rights; nothing was changed"),
    ),
    (r"no such file", msg("{place}: it is not there; check the name; nothing was changed")),
    (
        r"not a directory|file exists|is a directory",
        msg("{place}: a file and a folder are mixed up here; nothing was changed"),
    ),
    (
        r"unable to open",
        msg("{place}: it cannot be opened; check the folder and its rights; nothing was changed"),
    ),
    (
        r"not a database|malformed",
        msg("{place}: the file is damaged or no log of this program; nothing was changed"),
    ),
    (
        r"is locked",
        msg("{place}: another program holds it; close that and try again; nothing was changed"),
    ),
)


@contextmanager
def told(place: str | Path) -> Iterator[None]:
    """Turn what the disk or a database file said into a sentence; anything else stays loud."""
    try:
        yield
    except AdvisorError:
        raise
    except (OSError, sqlite3.Error, DBAPIError) as error:
        said = str(getattr(error, "orig", error)).casefold()
        for sign, sentence in _SIGNS:
            if re.search(sign, said):
                raise StoreError(say(sentence, place=place)) from error
        raise


def make_private(part: Path) -> None:
    """Make an empty file that nobody else on this machine can read: PINs are in it, as hashes."""
    os.close(os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600))


@contextmanager
def removed(part: Path) -> Iterator[None]:
    """Remove a half-written file, whatever happened."""
    try:
        yield
    finally:
        part.unlink(missing_ok=True)


def sync(path: Path) -> None:
    """Wait until a file or a folder is on the disk."""
    if path.is_dir() and os.name == "nt":
        return  # Windows has no such thing for folders
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, content: bytes) -> None:
    """Put a file in its place whole or not at all."""
    part = path.with_name(f"{path.name}.part")
    with told(path), removed(part):
        path.parent.mkdir(parents=True, exist_ok=True)
        make_private(part)
        part.write_bytes(content)
        sync(part)
        if part.read_bytes() != content:
            raise StoreError(
                say("{file}: the disk gave back something else than was written", file=path)
            )
        os.replace(part, path)
        sync(path.parent)
