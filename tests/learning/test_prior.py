import math
import re

import pandas as pd
import pytest

from advisor.errors import InputError
from advisor.learning.features import FEATURES
from advisor.learning.prior import PRIOR_FILE, load_prior, read_prior
from advisor.resources import reference

TABLE = reference(PRIOR_FILE)


@pytest.fixture
def changed(tmp_path):
    def change(edit):
        path = tmp_path / PRIOR_FILE
        edit(pd.read_csv(TABLE)).to_csv(path, index=False)
        return path

    return change


def test_expected_size_at_the_start_is_the_published_target():
    # Target 5√t: TWI FAQ on interface failures.
    assert math.exp(load_prior().size_at_start.mean) == pytest.approx(5, abs=0.005)


def test_adhesive_leans_neither_way_because_nothing_is_published():
    prior = load_prior()
    means = dict(zip(FEATURES, prior.slope_means, strict=True))
    assert [means[state] for state in ("wet", "part_cured", "cured")] == [0, 0, 0]
    sds = dict(zip(FEATURES, prior.slope_sds, strict=True))
    assert sds["wet"] < sds["part_cured"] < sds["cured"]


def test_noise_prior_holds_the_measured_scatter():
    # Computed from open data: 0.3 mm on 0.63 mm sheet, 0.45 mm on 1 to 2 mm sheet, at about 5√t.
    noise = load_prior().noise_sd
    for scatter_mm, thickness_mm in ((0.3, 0.63), (0.45, 1.0), (0.45, 2.0)):
        relative = scatter_mm / (5 * math.sqrt(thickness_mm))
        assert noise / 1.91 < relative < noise * 1.91


def test_every_row_has_a_reason_of_one_sentence_and_a_source():
    table = pd.read_csv(TABLE)
    assert table["reason"].str.len().min() > 30
    named = re.compile(r"from memory|common practice, no source|[a-z0-9]+(-[a-z0-9]+)+")
    assert [s for s in table["source"] if not named.fullmatch(s)] == []


def test_a_missing_row_is_named(changed):
    path = changed(lambda table: table[table["name"] != "force"])
    with pytest.raises(InputError, match=r"missing, unknown or twice: force$"):
        read_prior(path)


def test_a_row_given_twice_is_refused(changed):
    path = changed(lambda table: pd.concat([table, table.tail(1)]))
    with pytest.raises(InputError, match="a name given twice"):
        read_prior(path)


@pytest.mark.parametrize("name", ["current", "size_at_start"])
def test_a_width_of_zero_or_none_is_refused(changed, name):
    for width in (0.0, None):
        path = changed(
            lambda table, w=width: table.assign(sd=table["sd"].mask(table["name"] == name, w))
        )
        with pytest.raises(InputError, match=f"the width of {name} is"):
            read_prior(path)
