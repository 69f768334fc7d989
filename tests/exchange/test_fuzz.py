"""A damaged file is refused in a sentence or read exactly, and never changes the log by half."""

import pytest
from fuzz import Bench, run


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    made = Bench(tmp_path_factory.mktemp("fuzz"))
    yield made
    made.close()


@pytest.mark.parametrize("kind", ["json lines", "zip", "coupons"])
def test_damaged_files(bench, kind):
    before = dict(bench.counts)
    run(bench, kind, 150)
    seen = {name: bench.counts[name] - before[name] for name in before}
    # Both ways are taken, or the damage is too little or too much to find anything.
    assert seen["refused"] > 30
    assert seen["read"] > 3
