"""What everybody at a machine knows: more of this gives more or less of that."""

from dataclasses import replace

import numpy as np
import pytest

from advisor.heat.cases import published_cases
from advisor.heat.parameters import Options
from advisor.heat.report import MEASURED_GROWTH, growth, three_sheets
from advisor.heat.slopes import thicker
from advisor.heat.weld import simulate
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import Schedule
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

COARSE = Options(fineness=0.6, steps=100, frames=4)
CASES = [list(published_cases((Schedule.MEDIUM_FORCE,)))[n] for n in (1, 4, 7)]
MIDDLE = CASES[1]


def size(case, options=COARSE):
    return case.run(options).diameters_mm[0]


def dialled(case, **factors):
    changed = {name: getattr(case.setting, name) * by for name, by in factors.items()}
    return replace(case, setting=replace(case.setting, **changed))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.thickness_mm:g} mm")
def test_more_current_or_time_grows_the_nugget_and_more_force_shrinks_it(case):
    usual = size(case)
    assert size(dialled(case, current_kA=0.9)) < usual < size(dialled(case, current_kA=1.1))
    assert size(dialled(case, weld_ms=0.8)) < usual < size(dialled(case, weld_ms=1.2))
    assert size(dialled(case, force_kN=0.85)) > usual > size(dialled(case, force_kN=1.15))


def test_too_little_current_melts_nothing_and_far_too_much_throws_metal_out():
    cold, hot = dialled(MIDDLE, current_kA=0.4), dialled(MIDDLE, current_kA=1.6)
    assert size(cold) == 0
    assert cold.run(COARSE).expulsion is None
    expelled = hot.run(COARSE).expulsion
    assert expelled is not None
    assert expelled.interface == 0
    assert 0 < expelled.time_ms < hot.setting.weld_ms


def test_too_little_force_throws_metal_out_where_the_usual_force_holds_it():
    weak = dialled(MIDDLE, force_kN=0.5)
    assert MIDDLE.run(COARSE).expulsion is None
    expelled = weak.run(COARSE).expulsion
    assert expelled is not None
    assert "force" in expelled.reason


def test_the_nugget_of_an_unequal_stack_lies_in_the_thicker_sheet():
    stack = Stack((Sheet(0.8), Sheet(1.6)))
    thin, thick = simulate(
        stack, Setting(9.0, 240, 2.5), Electrode(CapShape.FLAT, 5.5), COARSE
    ).penetration
    assert thick * 1.6 > 1.3 * thin * 0.8 > 0


def test_a_stack_turned_over_gives_the_same_weld():
    stack, setting = Stack((Sheet(0.8), Sheet(1.2))), Setting(8.5, 200, 2.2)
    cap = Electrode(CapShape.FLAT, 5.0)
    up, down = (simulate(each, setting, cap, COARSE) for each in (stack, stack.turned_over()))
    assert up.diameters_mm == pytest.approx(down.diameters_mm, rel=1e-4)
    assert up.penetration == pytest.approx(down.penetration[::-1], abs=0.01)


def test_a_mixed_stack_grows_about_as_fast_as_was_measured():
    """Its time, force and face are not known; those published for the thinner sheet are taken."""
    currents, measured = zip(*MEASURED_GROWTH, strict=True)
    sizes = [weld.diameters_mm[0] for weld in growth(currents, Schedule.HIGH_FORCE, COARSE)]
    slopes = [np.polyfit(currents, each, 1)[0] for each in (measured, sizes)]
    assert 0.5 < slopes[1] / slopes[0] < 2
    assert sizes == pytest.approx(measured, rel=0.25)


def test_three_sheets_weld_at_both_interfaces():
    sizes = three_sheets().run(COARSE).diameters_mm
    assert len(sizes) == 2
    assert min(sizes) > 2


def test_a_neighbour_takes_current_and_the_weld_is_smaller():
    weld = MIDDLE.run(COARSE)
    beside = MIDDLE.run(replace(COARSE, neighbour_pitch_mm=20.0))
    far = MIDDLE.run(replace(COARSE, neighbour_pitch_mm=60.0))
    assert beside.diameters_mm[0] < far.diameters_mm[0] < weld.diameters_mm[0]
    assert np.max(beside.weld_current_kA) < np.max(weld.weld_current_kA)


def test_a_contact_that_resists_more_melts_earlier():
    def first_melt(options):
        weld = MIDDLE.run(options)
        return weld.times_ms[np.argmax(weld.nugget_mm[:, 0] > 0)]

    assert first_melt(replace(COARSE, contact_factors=(3.0,))) < first_melt(COARSE)


def test_pulses_with_pauses_cool_between_and_a_hold_freezes_the_melt():
    once = replace(MIDDLE, setting=replace(MIDDLE.setting, hold_ms=400.0))
    twice = replace(once, setting=replace(once.setting, pulses=2, pause_ms=80.0))
    held, paused = once.run(COARSE), twice.run(COARSE)
    assert paused.diameters_mm[0] < held.diameters_mm[0]
    assert paused.times_ms[-1] == pytest.approx(held.times_ms[-1] + 80)
    assert held.peak_degC[-1] < 1490 < held.hottest_degC
    assert np.isnan(paused.resistance_uohm).any()
    assert max(held.energy.error, paused.energy.error) < 1e-3


def test_thicker_sheets_make_the_nugget_larger_at_one_setting():
    """At one current more sheet means more resistance and a longer way to the water."""
    assert size(replace(MIDDLE, stack=thicker(MIDDLE.stack, 1.1))) > size(MIDDLE)


def test_a_domed_cap_touches_less_at_first():
    flat, dome = (
        replace(MIDDLE, electrode=Electrode(shape, 6.0)).run(COARSE)
        for shape in (CapShape.FLAT, CapShape.DOME)
    )
    assert dome.contact_mm[0, 0] < flat.contact_mm[0, 0] == pytest.approx(6.0)
    assert np.all(np.diff(dome.contact_mm[:, 0]) >= 0)
