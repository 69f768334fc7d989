"""Copy the log and its photos, also while the app runs, and read the copy back."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path

from advisor.commands.restore import faults
from advisor.language import say
from advisor.store.backups.backup import back_up, folder_of
from advisor.store.backups.dumps import is_dump
from advisor.store.log import default_url


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        metavar="FOLDER",
        help="where the backup goes, best another disk (default: backups/ beside the log)",
    )


def run(chosen: argparse.Namespace) -> int:
    """Make one backup; 0 when all is safe and sound, 1 when the text says what is not."""
    url = default_url()
    made = back_up(url, chosen.folder or folder_of(url) / "backups", datetime.now(UTC))
    print(made)
    wrong = [] if is_dump(made.path) else faults(made.path)
    for line in wrong:
        print(say("the copy is as the log is, but {trouble}", trouble=line))
    return 1 if wrong or made.warnings else 0
