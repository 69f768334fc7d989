"""Logs in files that are made once and copied: making the tables takes longer than most tests."""

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from functools import cached_property
from pathlib import Path
from tempfile import mkdtemp

from alembic.script import ScriptDirectory

from advisor.store import engine as engines
from advisor.store.demo import fill_demo
from advisor.store.engine import connect
from advisor.store.log import open_log

_MIGRATED = engines._migrate
_READ = ScriptDirectory.from_config


def reading_once():
    """Return a `ScriptDirectory.from_config` that reads each folder of migrations once."""
    known = {}

    def read(config):
        folder = config.get_main_option("script_location")
        if folder not in known:
            known[folder] = _READ(config)
        return known[folder]

    return read


class ReadyLogs:
    """Files in `folder` to copy from: one with empty tables, one with the demo shop."""

    def __init__(self, folder):
        self._folder = Path(folder)

    @cached_property
    def empty(self):
        connect(f"sqlite:///{self._folder / 'empty.sqlite'}").dispose()
        return self._folder / "empty.sqlite"

    @cached_property
    def demo(self):
        log = open_log(f"sqlite:///{self._folder / 'demo.sqlite'}")
        fill_demo(log)
        log.close()
        return self._folder / "demo.sqlite"

    def migrate(self, engine):
        """Bring tables up to date; where there is no file yet, by a copy of the empty one."""
        file = Path(engine.url.database or ":")
        new = engine.dialect.name == "sqlite" and file.is_absolute() and not file.exists()
        if new and file.parent != self._folder:
            _put(self.empty, file)
        else:
            _MIGRATED(engine)

    def fill_demo(self, log):
        """Fill an empty log in a file with the demo shop, as `fill_demo` does."""
        with (
            closing(sqlite3.connect(self.demo)) as source,
            closing(sqlite3.connect(log._engine.url.database)) as target,
        ):
            source.backup(target)


def _put(source, file):
    """Copy a file whole or not at all; of two that make the same one the first is kept."""
    made = Path(mkdtemp(dir=file.parent)) / "copy"
    shutil.copyfile(source, made)
    with suppress(FileExistsError):
        os.link(made, file)
    shutil.rmtree(made.parent)
