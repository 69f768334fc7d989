"""Bring the whole log of a file into this one: all that is new in it, or nothing."""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path

from advisor.errors import StoreError
from advisor.exchange.log_file import LogFile
from advisor.language import say
from advisor.store.base import Trust
from advisor.store.log import open_log


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument(
        "file", type=Path, metavar="FILE", help="a file that the command export has written"
    )
    parser.add_argument(
        "--by", required=True, metavar="NAME", help="who brings it in, for the log of changes"
    )
    parser.add_argument(
        "--preview", action="store_true", help="only count what is new; store nothing"
    )


def run(chosen: argparse.Namespace) -> int:
    """Bring the file in and print how many records of each kind were new."""
    path: Path = chosen.file
    try:
        file = path.open("rb")
    except OSError as error:
        raise StoreError(
            say("{file} cannot be read: {problem}", file=path, problem=error.strerror)
        ) from error
    with closing(open_log().used_by(Trust.OPERATOR)) as log:
        with file:
            bring_in = log.try_bringing_in if chosen.preview else log.bring_in
            arrived = bring_in(LogFile(file), chosen.by)
    for line in arrived.lines():
        print(line)
    if chosen.preview:
        print(say("nothing was stored"))
    else:
        print(say("{count:,} records are new", count=arrived.new))
    return 0
