"""The middles of the published bands, calculated."""

import numpy as np
import pytest

from advisor.heat.cases import UNCOATED, ZINC, published_cases, with_zinc
from advisor.heat.parameters import Options
from advisor.heat.properties import BOILING_DEGC
from advisor.heat.report import current_for_size_kA
from advisor.weld.published import Schedule

COARSE = Options(fineness=0.6, steps=100, frames=4)


@pytest.mark.parametrize("schedule", UNCOATED)
def test_uncoated_middles_weld_between_4_and_6_root_t(welds, schedule):
    sizes = {case.thickness_mm: case.over_root(weld) for case, weld in welds.of(schedule)}
    assert len(sizes) == 8
    assert {t: k for t, k in sizes.items() if not 4 <= k <= 6} == {}


@pytest.mark.parametrize("schedule", UNCOATED)
def test_uncoated_middles_stay_below_boiling_and_throw_nothing_out(welds, schedule):
    found = welds.of(schedule)
    assert max(weld.hottest_degC for _, weld in found) < BOILING_DEGC
    assert [case.thickness_mm for case, weld in found if weld.expulsion] == []


@pytest.mark.parametrize("schedule", [*UNCOATED, *ZINC])
def test_no_heat_is_lost(welds, schedule):
    assert max(weld.energy.error for _, weld in welds.of(schedule)) < 1e-3


@pytest.mark.parametrize("schedule", UNCOATED)
def test_dynamic_resistance_ends_where_welds_of_steel_do(welds, schedule):
    """60 to 250 µΩ, from memory; it begins higher, at the film, and falls."""
    for _, weld in welds.of(schedule):
        assert 60 <= weld.late_resistance_uohm <= 250
        assert weld.resistance_uohm[0] > weld.late_resistance_uohm


@pytest.mark.parametrize("schedule", UNCOATED)
def test_thicker_sheets_need_more_current_much_as_in_the_table(schedule):
    cases = list(published_cases((schedule,)))
    thin, thick = cases[1], cases[6]
    needed = [current_for_size_kA(case, 5.0, COARSE) for case in (thin, thick)]
    ratio = np.log(thick.thickness_mm / thin.thickness_mm)
    power = np.log(needed[1] / needed[0]) / ratio
    table = np.log(thick.setting.current_kA / thin.setting.current_kA) / ratio
    assert power == pytest.approx(table, abs=0.2)


def test_zinc_needs_more_current():
    """About 20 % more (Steels: Metallurgy and Applications, 3rd ed., p. 104), at the same rest."""
    case = list(published_cases((Schedule.HIGH_FORCE,)))[3]
    needed = [current_for_size_kA(each, 5.0, COARSE) for each in (case, with_zinc(case))]
    assert 1.05 < needed[1] / needed[0] < 1.4
