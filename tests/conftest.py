"""One Hypothesis profile for the whole suite, and the databases that tests keep a log in."""

import postgres_server
import pytest
from hypothesis import settings

from advisor.store.engine import connect

settings.register_profile("suite", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("suite")


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
