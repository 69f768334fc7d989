"""Write the whole log into one file: JSON Lines, or a zip of CSV files."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import BinaryIO

from advisor.errors import InputError, StoreError
from advisor.exchange.kinds import KIND_NAMED
from advisor.language import figure, say
from advisor.store.base import Trust
from advisor.store.log import open_log


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument(
        "file",
        type=Path,
        metavar="FILE",
        help="file to write, ending in .jsonl (JSON Lines) or .zip (CSV); it must not exist yet",
    )


def run(chosen: argparse.Namespace) -> int:
    """Write the file and print how many records of each kind it holds."""
    path: Path = chosen.file
    ending = path.suffix.casefold()
    if ending not in (".jsonl", ".zip"):
        raise InputError(say("{file} must end in .jsonl (JSON Lines) or .zip (CSV)", file=path))
    with closing(open_log().used_by(Trust.OPERATOR)) as log:
        with _new_file(path) as file:
            write = log.export_json_lines if ending == ".jsonl" else log.export_tables
            header = write(file)
    for kind, count in header.records.items():
        print(f"{KIND_NAMED[kind].words}: {figure(count, ',')}")
    return 0


@contextmanager
def _new_file(path: Path) -> Iterator[BinaryIO]:
    """Open a file that is not there yet; what was not written to its end does not stay."""
    try:
        file = path.open("xb")
    except FileExistsError:
        raise StoreError(
            say("{file} is there already; choose another name, or move it away", file=path)
        ) from None
    except OSError as error:
        raise StoreError(
            say("{file} cannot be written: {problem}", file=path, problem=error.strerror)
        ) from error
    try:
        with file:
            yield file
    except BaseException as error:
        path.unlink(missing_ok=True)
        if isinstance(error, OSError) and not isinstance(error, StoreError):
            raise StoreError(
                say("{file} could not be written: {problem}", file=path, problem=error.strerror)
            ) from error
        raise
