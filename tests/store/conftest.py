"""A log in a file of its own for each test, with the welders and machines coupons are drawn for."""

import pytest
from store_examples import fill

from advisor.store.log import open_log


@pytest.fixture
def url(tmp_path):
    return f"sqlite:///{tmp_path / 'log.sqlite'}"


@pytest.fixture
def log(url):
    opened = fill(open_log(url))
    yield opened
    opened.close()
