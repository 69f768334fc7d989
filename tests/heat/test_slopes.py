"""The kept table of slopes, against welds calculated anew."""

import pytest

from advisor.heat.cases import UNCOATED, ZINC, published_cases
from advisor.heat.slopes import read_slopes, slopes
from advisor.weld.published import Schedule


def test_the_table_holds_every_published_row_once():
    kept = [(row.schedule, row.thickness_mm) for row in read_slopes()]
    assert kept == [(c.schedule, c.thickness_mm) for c in published_cases((*UNCOATED, *ZINC))]


def test_a_row_calculated_anew_gives_what_is_kept():
    case = list(published_cases((Schedule.MEDIUM_FORCE,)))[4]
    kept = next(
        row
        for row in read_slopes()
        if (row.schedule, row.thickness_mm) == (case.schedule, case.thickness_mm)
    )
    found = slopes(case)
    assert found.over_root == pytest.approx(kept.over_root, abs=0.01)
    for name in ("current", "time", "force", "face", "thickness"):
        assert getattr(found, name) == pytest.approx(getattr(kept, name), abs=0.01), name


def test_every_row_answers_in_the_direction_that_every_shop_knows():
    for row in read_slopes():
        assert row.current > 0.5
        assert row.time > 0
        assert row.force < 0
        assert row.face < 0
