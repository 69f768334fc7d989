"""One Hypothesis profile for the whole suite, and the databases that tests keep a log in."""

import os

# Each core has a worker of its own: threads of linear algebra would only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import postgres_server
import pytest
from alembic.script import ScriptDirectory
from argon2 import PasswordHasher
from hypothesis import settings
from ready_logs import ReadyLogs, reading_once

from advisor.people import pin
from advisor.store.engine import connect

settings.register_profile("suite", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("suite")

QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


@pytest.fixture(scope="session", autouse=True)
def migrations_read_once():
    """Read the files of the migrations once, not anew for every log that is opened."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ScriptDirectory, "from_config", reading_once())
        yield


@pytest.fixture(scope="session")
def ready(tmp_path_factory):
    """Logs in files, to copy from."""
    return ReadyLogs(tmp_path_factory.mktemp("ready"))


@pytest.fixture(scope="module", autouse=True)
def tables_copied(ready):
    """Copy the empty tables of a new log in a file; a module about migrations overrides this."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("advisor.store.engine._migrate", ready.migrate)
        yield


@pytest.fixture(scope="module", autouse=True)
def quick_pins():
    """Keep PINs in hashes that cost next to nothing; a module about hashes overrides this."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pin, "_HASHER", QUICK)
        patch.setattr(pin, "_DUMMY", QUICK.hash("a PIN that nobody has"))
        yield


@pytest.fixture(scope="session")
def postgresql():
    """A PostgreSQL server; tests that want it are skipped, with the reason, where there is none."""
    if reason := postgres_server.missing():
        pytest.skip(reason)
    with postgres_server.running() as server:
        yield server


@pytest.fixture(scope="session")
def migrated(postgresql):
    """Name of a database whose tables are made, for copying."""
    with postgresql.database() as name:
        connect(postgresql.url(name)).dispose()
        yield name


@pytest.fixture
def postgresql_url(postgresql, migrated):
    """Address of a database with empty tables, for one test."""
    with postgresql.database(migrated) as name:
        yield postgresql.url(name)


@pytest.fixture
def bare_postgresql_url(postgresql):
    """Address of a database without tables, for one test."""
    with postgresql.database() as name:
        yield postgresql.url(name)


class _Pseudo:
    """A catalogue that has every sentence, in double brackets."""

    def gettext(self, message):
        return f"⟦{message}⟧"

    def ngettext(self, one, many, number):
        return self.gettext(one if number == 1 else many)


@pytest.fixture
def pseudo(monkeypatch):
    """Translate every sentence into itself in ⟦⟧, for a test that speaks another language."""
    monkeypatch.setattr("advisor.language.catalogue", lambda code: _Pseudo())
