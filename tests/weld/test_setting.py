"""Settings: limits, pre-pulse, and when two are one."""

from dataclasses import replace

import pytest
from hypothesis import given
from strategies import settings

from advisor.errors import InputError
from advisor.weld.setting import Setting

PLAIN = Setting(8.0, 200.0, 2.5, squeeze_ms=400, hold_ms=200, pulses=2, pause_ms=40)
WITH_PRE = replace(PLAIN, pre_current_kA=3.0, pre_ms=60)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"current_kA": -8}, r"weld current is -8 kA; it must be 0\.3 to 40 kA"),
        ({"current_kA": 8000}, "weld current is 8000 kA; .*check the unit"),
        ({"current_kA": float("nan")}, "weld current is nan kA; it must be"),
        ({"weld_ms": 0}, "weld time is 0 ms; it must be 10 to 5000 ms"),
        ({"weld_ms": 9}, "weld time is 9 ms; .*check the unit"),
        ({"force_kN": 250}, r"electrode force is 250 kN; it must be 0\.05 to 20 kN .*unit"),
        ({"squeeze_ms": -1}, "squeeze time is -1 ms; it must be 0 to 10,000 ms"),
        ({"hold_ms": 10_001}, "hold time is 10001 ms; it must be 0 to 10,000 ms"),
        ({"pause_ms": -20}, "pause is -20 ms; it must be 0 to 10,000 ms"),
        ({"pulses": 0}, "the weld has 0 pulses; it must be 1 to 20"),
        ({"pulses": 21}, "the weld has 21 pulses; it must be 1 to 20"),
        ({"pre_current_kA": 41, "pre_ms": 60}, "pre-pulse current is 41 kA; give 0 to 40 kA"),
        ({"pre_current_kA": 3, "pre_ms": -1}, "pre-pulse time is -1 ms"),
    ],
)
def test_a_number_out_of_range_is_refused_with_the_range(change, said):
    with pytest.raises(InputError, match=said):
        replace(PLAIN, **change)


@pytest.mark.parametrize("half", [{"pre_current_kA": 3.0}, {"pre_ms": 60.0}])
def test_half_a_pre_pulse_is_refused(half):
    with pytest.raises(InputError, match="needs a current and a time; give both, or 0 for both"):
        replace(PLAIN, **half)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"current_kA": 8.1}, "weld current 8.1 kA, not 8 kA"),
        ({"weld_ms": 201.0}, "weld time 201 ms, not 200 ms"),
        ({"force_kN": 2.4}, "force 2.4 kN, not 2.5 kN"),
        ({"squeeze_ms": 300.0}, "squeeze 300 ms, not 400 ms"),
        ({"hold_ms": 100.0}, "hold 100 ms, not 200 ms"),
        ({"pulses": 3}, "pulses 3, not 2"),
        ({"pause_ms": 20.0}, "pause 20 ms, not 40 ms"),
        ({"pre_current_kA": 4.0}, "pre-pulse current 4 kA, not 3 kA"),
        ({"pre_ms": 80.0}, "pre-pulse time 80 ms, not 60 ms"),
    ],
)
def test_each_part_of_a_setting_alone_makes_another_setting(change, said):
    other = replace(WITH_PRE, **change)
    assert other.differences(WITH_PRE) == [said]
    assert not other.same_as(WITH_PRE)


@pytest.mark.parametrize("kilo_amperes", [7.9, 8.0, 8.3, 9.7, 10.1])
def test_less_than_half_a_step_is_the_same_dial(kilo_amperes):
    base = replace(PLAIN, current_kA=kilo_amperes)
    assert base.same_as(replace(PLAIN, current_kA=kilo_amperes + 0.04))
    assert base.same_as(replace(PLAIN, current_kA=kilo_amperes - 0.04))


@pytest.mark.parametrize("kilo_amperes", [7.9, 8.0, 8.3, 9.7, 10.1])
@pytest.mark.parametrize("half_step", [0.05, -0.05])
def test_half_a_step_is_another_setting_wherever_it_lies(kilo_amperes, half_step):
    base = replace(PLAIN, current_kA=kilo_amperes)
    assert not base.same_as(replace(PLAIN, current_kA=kilo_amperes + half_step))


def test_thirteen_cycles_at_60_hz_typed_as_whole_ms_are_the_same_setting():
    assert replace(PLAIN, weld_ms=13 * 1000 / 60).same_as(replace(PLAIN, weld_ms=217))


@given(settings(), settings())
def test_sameness_is_mutual(one, other):
    assert one.same_as(one)
    assert one.same_as(other) is other.same_as(one)
