"""Machines: limits in sentences, dial steps, calibration."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import machines

from advisor.errors import InputError, LimitError
from advisor.units import to_inner
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting

GUN = Machine("gun 1", largest_current_kA=12.0, largest_force_kN=3.3)
SETTING = Setting(8.0, 200.0, 2.5)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": "  "}, "the machine has no name"),
        ({"largest_current_kA": 1.5}, r"current range is 2 to 1\.5 kA; the smallest must be below"),
        ({"largest_current_kA": 12000}, r"2 to 12000 kA; .* within 0\.3 to 40 kA"),
        ({"smallest_current_kA": 0}, r"current range is 0 to 12 kA; .* within 0\.3 to 40 kA"),
        ({"largest_force_kN": 330}, r"force range is 0\.5 to 330 kN; .*\(500 daN = 5 kN\)"),
        ({"smallest_force_kN": 4}, r"force range is 4 to 3\.3 kN; the smallest must be below"),
        ({"mains_hz": 0}, "mains frequency is 0 Hz; it must be 50 or 60 Hz"),
        ({"force_kN_per_bar": -1}, "force per pressure is -1 kN/bar; it must be above 0"),
    ],
)
def test_an_impossible_machine_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        replace(GUN, **change)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"force_kN": 3.4}, r"^electrode force is 3\.4 kN; gun 1 gives 0\.5 to 3\.3 kN: correct"),
        ({"force_kN": 0.4}, r"^electrode force is 0\.4 kN; gun 1 gives 0\.5 to 3\.3 kN: correct"),
        ({"current_kA": 12.1}, r"^weld current is 12\.1 kA; gun 1 gives 2 to 12 kA: .*another"),
        ({"current_kA": 1.9}, r"^weld current is 1\.9 kA; gun 1 gives 2 to 12 kA"),
        ({"pre_current_kA": 13, "pre_ms": 60}, "^pre-pulse current is 13 kA; gun 1 gives at most"),
    ],
)
def test_what_the_machine_cannot_run_is_refused_with_its_range(change, said):
    with pytest.raises(LimitError, match=said):
        GUN.check(replace(SETTING, **change))


def test_every_reason_is_given_at_once():
    assert len(GUN.problems(replace(SETTING, current_kA=20, force_kN=9))) == 2


def test_the_limits_themselves_can_be_run():
    GUN.check(replace(SETTING, current_kA=12.0, force_kN=3.3))
    GUN.check(replace(SETTING, current_kA=2.0, force_kN=0.5))


def test_a_limit_typed_in_another_unit_is_still_the_limit():
    assert to_inner("force", 330, "daN") > 3.3  # by the last binary digit
    GUN.check(replace(SETTING, force_kN=to_inner("force", 330, "daN")))


@given(machines(), st.floats(0.1, 50))
def test_a_rounded_dial_lies_within_the_limits_on_a_step(machine, wished):
    current, force = machine.round_current(wished), machine.round_force(wished)
    assert machine.smallest_current_kA <= current <= machine.largest_current_kA
    assert machine.smallest_force_kN <= force <= machine.largest_force_kN
    assert math.isclose(current * 10, round(current * 10), abs_tol=1e-6)
    if machine.smallest_current_kA <= wished <= machine.largest_current_kA:
        assert abs(current - wished) <= 0.05 + 1e-6


@given(machines(), st.floats(1, 2000))
def test_a_rounded_time_is_a_whole_number_of_steps(machine, wished):
    weld_ms = machine.round_time(wished)
    step = 10.0 if machine.is_inverter else 1000.0 / machine.mains_hz
    assert weld_ms >= step - 1e-3
    assert math.isclose(weld_ms / step, round(weld_ms / step), abs_tol=1e-3)
    assert abs(weld_ms - max(wished, step)) <= step / 2 + 1e-3


def test_a_range_narrower_than_a_step_gives_its_nearer_end():
    narrow = replace(GUN, smallest_force_kN=2.52, largest_force_kN=2.58)
    assert narrow.round_force(1.0) == 2.52
    assert narrow.round_force(9.0) == 2.58


@given(machines())
def test_calibration_is_that_of_the_machine(machine):
    assert to_inner("time", 1, "cycle", machine.calibration) == 1000 / machine.mains_hz
    assert machine.calibration.force_kN_per_bar == machine.force_kN_per_bar
