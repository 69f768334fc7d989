"""A log of its own for each test, once in a file and once on a server.

What is only about files takes `sqlite_url` or `sqlite_log` instead.
"""

import pytest
from store_examples import fill

from advisor.store.log import open_log


@pytest.fixture
def sqlite_url(tmp_path):
    return f"sqlite:///{tmp_path / 'log.sqlite'}"


@pytest.fixture
def bare_sqlite_url(sqlite_url):
    return sqlite_url


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request):
    """Address of a log without entries."""
    return request.getfixturevalue(f"{request.param}_url")


@pytest.fixture(params=["sqlite", "postgresql"])
def bare_url(request):
    """Address of a database without tables."""
    return request.getfixturevalue(f"bare_{request.param}_url")


@pytest.fixture
def log(url):
    opened = fill(open_log(url))
    yield opened
    opened.close()


@pytest.fixture
def sqlite_log(sqlite_url):
    opened = fill(open_log(sqlite_url))
    yield opened
    opened.close()
