import pandas as pd
import pytest
from learning_makers import CAPS, MACHINE, RULES, advice_on, bench_on, logged, stack_of, turned

from advisor.errors import InputError, NoAdviceError
from advisor.learning.advice import Advice
from advisor.learning.model import MachineModel
from advisor.learning.next_coupon import choose_coupon
from advisor.learning.suggestion import suggest
from advisor.learning.window import window_over_force, window_over_time
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface

PAIR = stack_of(1.2, 1.2)
TABLE = Setting(11.0, 210, 3.1)
HISTORIES = {
    "nothing": [],
    "small": [logged(n, PAIR, TABLE, 4.5) for n in (1, 2, 3)],
    "passing": [logged(n, PAIR, TABLE, 5.5) for n in (1, 2)],
    "no fusion": [logged(1, PAIR, TABLE, None)],
    "expelled": [logged(1, PAIR, TABLE, 5.4), logged(2, PAIR, TABLE, 5.3, expulsion=True)],
    "far from the table": [logged(n, PAIR, Setting(7.5, 500, 2.0), 5.5) for n in (1, 2)],
}


@pytest.mark.parametrize("history", HISTORIES)
def test_all_of_it_rests_on_one_bench(history):
    coupons = HISTORIES[history]
    advice, bench = advice_on(coupons), bench_on(coupons)
    assert advice.suggestion == suggest(bench)
    assert advice.next_coupon == choose_coupon(bench)
    around = advice.suggestion.setting
    for got, expected in (
        (advice.window_over_time(6), window_over_time(bench, around, 6)),
        (advice.window_over_force(6), window_over_force(bench, around, 6)),
    ):
        pd.testing.assert_frame_equal(got, expected, check_exact=True)


@pytest.mark.parametrize("history", HISTORIES)
def test_the_parts_agree_with_each_other(history):
    advice = advice_on(HISTORIES[history])
    found, coupon = advice.suggestion, advice.next_coupon
    for window, other in (
        (advice.window_over_time(5), "weld_ms"),
        (advice.window_over_force(5), "force_kN"),
    ):
        for name in ("current_kA", other):
            assert window[name].min() < getattr(found.setting, name) < window[name].max()
    assert coupon.chance_sound >= found.chance_sound - 0.05
    assert found.chance_sound <= found.chance + 1e-12


def test_it_is_worked_out_once():
    advice = advice_on(HISTORIES["small"])
    assert advice.suggestion is advice.suggestion
    assert advice.next_coupon is advice.next_coupon


def test_windows_are_a_hundred_a_side_unless_told():
    advice = advice_on()
    assert len(advice.window_over_time()) == len(advice.window_over_force()) == 10_000


def test_a_stack_turned_over_and_coupons_in_any_order_are_the_same_advice():
    stack = stack_of(0.8, 1.2, 1.0)
    made = [logged(n, stack, Setting(9 + n / 5, 160, 2.3), 4.4, 4.9) for n in (1, 2, 3)]
    there = advice_on(made, stack)
    back = advice_on([turned(each) for each in made], stack.turned_over())
    assert back.suggestion == there.suggestion
    assert back.next_coupon == there.next_coupon
    shuffled = advice_on(made[::-1], stack)
    assert shuffled.suggestion.setting == there.suggestion.setting
    assert shuffled.next_coupon.reason == there.next_coupon.reason
    assert shuffled.suggestion.chance_sound == pytest.approx(there.suggestion.chance_sound)


def test_coupons_of_other_machines_do_not_speak():
    others = [logged(n, PAIR, TABLE, 4.0, machine="Other gun") for n in range(5, 9)]
    made = HISTORIES["passing"]
    model = MachineModel(RULES).fit(made)
    mixed = Advice(model, PAIR, MACHINE, CAPS, RULES, [*made, *others])
    assert mixed.suggestion == advice_on(made).suggestion
    assert mixed.next_coupon == advice_on(made).next_coupon


def test_refusals_come_before_anything_is_asked():
    with pytest.raises(NoAdviceError, match="no published start for weld-through primer"):
        advice_on(stack=stack_of(1, 1, surface=Surface.WELD_PRIMER))
    zinc = stack_of(2, 2, surface=Surface.HOT_DIP_ZINC)
    with pytest.raises(NoAdviceError, match=r"7\.0 kA are missing"):
        advice_on((), zinc, Machine("Gun", 11, 6), Electrode(CapShape.DOME, 7))
    with pytest.raises(NoAdviceError, match=r"at least 10 kA, 2\.0 kA too much"):
        advice_on((), stack_of(0.5, 0.5), Machine("Gun", 20, 6, smallest_current_kA=10))
    with pytest.raises(InputError, match="learned from Gun, the setting is for Other gun"):
        Advice(
            MachineModel(RULES).fit(HISTORIES["small"]),
            PAIR,
            Machine("Other gun", 15, 6),
            CAPS,
            RULES,
            [],
        )


def test_one_point_is_no_window():
    with pytest.raises(InputError, match="the window has 1 points a side; it needs 2 or more"):
        advice_on().window_over_time(1)
