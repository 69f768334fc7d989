"""Walk the chains of the log and name the first row that does not fit."""

from __future__ import annotations

import argparse
from contextlib import closing

from advisor.language import say
from advisor.store.base import Trust
from advisor.store.log import open_log


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument(
        "--holds",
        metavar="SEAL",
        help="a seal from a printed record or an older check; say whether it is still in the log",
    )


def run(chosen: argparse.Namespace) -> int:
    """Check every row; 0 when all fit, 1 when one does not."""
    with closing(open_log().used_by(Trust.OPERATOR)) as log:
        report = log.verify()
        for line in report.lines():
            print(line)
        if chosen.holds and not log.holds_seal(chosen.holds):
            print(
                say(
                    "the seal {seal} is not in this log; rows were removed since",
                    seal=chosen.holds,
                )
            )
            return 1
        return 0 if report.is_sound else 1
