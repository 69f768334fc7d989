import numpy as np
import pandas as pd
import pytest
from learning_makers import CAPS, MACHINE, RULES, bench_on, logged, stack_of, turned

from advisor.coupons.rules import ExpulsionRule, JudgingRules, ShopRules
from advisor.errors import InputError
from advisor.learning.window import is_tested, window_over_force, window_over_time
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting

PAIR = stack_of(1.2, 1.2)
AROUND = Setting(11.0, 210, 3.1)
COUPONS = [
    logged(1, PAIR, AROUND, 5.3),
    logged(2, PAIR, Setting(12.2, 210, 3.1), 5.9, expulsion=True),
    logged(3, PAIR, Setting(10.0, 210, 3.1), 4.6),
]


def bench(coupons=COUPONS, stack=PAIR, rules=RULES, machine=MACHINE):
    return bench_on(coupons, stack, machine, rules=rules)


@pytest.mark.parametrize(
    ("window", "other", "kept"),
    [(window_over_time, "weld_ms", "force_kN"), (window_over_force, "force_kN", "weld_ms")],
)
@pytest.mark.parametrize("points", [2, 7])
def test_the_window_is_what_is_predicted_point_by_point(window, other, kept, points):
    known = bench()
    found = window(known, AROUND, points)
    assert list(found.columns[:2]) == ["current_kA", other]
    assert len(found) == points**2
    settings = found.assign(**{kept: getattr(AROUND, kept)})
    rows = settings[["current_kA", "weld_ms", "force_kN"]].to_numpy()
    one_by_one = [known.outlook.chances(PAIR, CAPS, row[None, :]) for row in rows]
    for name in ("minimum", "expulsion", "sound"):
        expected = [getattr(each, name)[0] for each in one_by_one]
        assert found[f"chance_{name}"].to_numpy() == pytest.approx(expected, abs=1e-9)


def test_the_grid_is_whole_and_around_the_setting():
    found = window_over_time(bench(), AROUND, 21)
    assert found["current_kA"].nunique() == found["weld_ms"].nunique() == 21
    assert found["weld_ms"].min() == pytest.approx(105)
    assert found["weld_ms"].max() == pytest.approx(420)
    assert found["current_kA"].min() == pytest.approx(11 / 1.35)


def test_the_grid_ends_where_the_machine_does():
    small = Machine("Gun", 12, 3.5, smallest_current_kA=10, smallest_force_kN=2.8)
    found = window_over_force(bench(machine=small), AROUND, 5)
    assert (found["current_kA"].min(), found["current_kA"].max()) == (10, 12)
    assert (found["force_kN"].min(), found["force_kN"].max()) == (2.8, 3.5)


def test_sound_is_the_minimum_without_expulsion_unless_the_shop_only_notes_it():
    noting = ShopRules(judging=JudgingRules(expulsion=ExpulsionRule.NOTED))
    strict = window_over_time(bench(), AROUND, 11)
    lax = window_over_time(bench(rules=noting), AROUND, 11)
    assert lax["chance_sound"].equals(lax["chance_minimum"])
    assert (strict["chance_sound"] <= strict["chance_minimum"]).all()
    hottest = strict["chance_expulsion"].idxmax()
    assert strict["chance_sound"][hottest] < 0.3 < lax["chance_sound"][hottest]


def test_it_has_two_edges():
    at_once = window_over_time(bench(), AROUND, 31)
    row = at_once[np.isclose(at_once["weld_ms"], 210)].sort_values("current_kA")
    sound = row["chance_sound"].to_numpy()
    assert sound[0] < 0.5
    assert sound[-1] < 0.5
    assert sound.max() > 0.8


def test_turned_over_it_is_the_same_window():
    stack = stack_of(0.8, 1.2, 1.0)
    made = [logged(n, stack, Setting(9, 160, 2.3), 4.8, 4.9) for n in (1, 2)]
    there = window_over_force(bench(made, stack), AROUND, 9)
    back = window_over_force(bench([turned(each) for each in made], stack.turned_over()), AROUND, 9)
    pd.testing.assert_frame_equal(back, there, check_exact=True)


def test_tested_is_near_a_coupon_and_nowhere_without():
    asked = bench().asked
    near = [[11.0, 210, 3.1], [11.3, 210, 3.1], [10.0, 230, 3.1]]
    far = [[13.5, 210, 3.1], [11.0, 400, 3.1], [11.0, 210, 2.0], [8.0, 210, 3.1]]
    assert is_tested(asked.kin, np.array(near)).all()
    assert not is_tested(asked.kin, np.array(far)).any()
    assert not is_tested((), np.array(near)).any()
    found = window_over_time(bench(), AROUND, 15)
    assert 0 < found["tested"].sum() < len(found)
    assert not window_over_time(bench([]), AROUND, 5)["tested"].any()


def test_one_point_is_no_window():
    with pytest.raises(InputError, match="the window has 1 points a side; it needs 2 or more"):
        window_over_time(bench(), AROUND, 1)
