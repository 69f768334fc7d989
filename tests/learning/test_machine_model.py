import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from learning_makers import CAPS, FIRST, RULES, SETTING, logged, stack_of, turned

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.rules import JudgingRules
from advisor.errors import InputError, NoAdviceError
from advisor.learning.features import inputs
from advisor.learning.model import MachineModel
from advisor.learning.prior import load_prior
from advisor.weld.failure import FailureType
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface
from advisor.weld.size import SizeRule

PAIR, THREE, ONE_MM = stack_of(1.2, 1.2), stack_of(0.7, 1.0, 1.6), stack_of(1, 1)
ONE_VIEW = replace(load_prior(), answers=())
GRID = pd.DataFrame(
    {"current_kA": [8.0, 10.0, 12.0], "weld_ms": 200.0, "force_kN": 3.0}, index=[7, 3, 5]
)
COUPONS = [
    logged(1, PAIR, Setting(9, 200, 3), 4.3),
    logged(2, PAIR, Setting(10, 200, 3), 5.0),
    logged(3, THREE, Setting(9, 180, 2.8), 3.5, 4.2),
    logged(4, PAIR, Setting(11, 240, 3), 5.4),
]


def at_start(stack):
    start = published_start(stack, RULES.bare_schedule)
    return pd.DataFrame(
        {
            "current_kA": [start.current_kA],
            "weld_ms": [start.weld_ms],
            "force_kN": [start.force_kN],
        }
    )


def response(size_mm, thickness_mm=1.0):
    """By hand: twice what the root of size over the target 5√t is above 1."""
    return 2 * (math.sqrt(size_mm / (5 * math.sqrt(thickness_mm))) - 1)


def size_of(response, thickness_mm=1.0):
    """By hand, the other way round. [mm]"""
    return 5 * math.sqrt(thickness_mm) * (1 + response / 2) ** 2


def fitted(*coupons):
    return MachineModel(RULES).fit(coupons)


def test_without_coupons_the_published_start_gives_the_published_target():
    # 5 mm on 1 mm sheet: target of the TWI FAQ, and every input is 0; the minimum is 4√1 = 4 mm.
    found = MachineModel(RULES).predict(ONE_MM, CAPS, at_start(ONE_MM)).iloc[0]
    assert found["size_mm"] == pytest.approx(5, abs=1e-6)
    assert found["minimum_mm"] == 4
    assert found["low_mm"] < found["minimum_mm"] < found["high_mm"]


@pytest.mark.parametrize("thickness_mm", [0.7, 1.2, 1.6, 2.0])
def test_away_from_1_mm_the_table_s_views_hardly_lean_off_the_target(thickness_mm):
    # Odd machines may grow faster or slower than √t; on the whole they must not lean to a side by
    # more than a tenth of the weld-to-weld scatter (8 to 10 %).
    stack = stack_of(thickness_mm, thickness_mm)
    caps = replace(CAPS, face_mm=published_start(stack, RULES.bare_schedule).face_mm)
    found = MachineModel(RULES).predict(stack, caps, at_start(stack)).iloc[0]
    assert found["size_mm"] == pytest.approx(5 * math.sqrt(thickness_mm), rel=0.008)
    assert found["low_mm"] < found["minimum_mm"] < found["high_mm"]


def test_unfitted_and_fitted_to_nothing_are_the_same():
    first = MachineModel(RULES).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(first, fitted().predict(PAIR, CAPS, GRID))


def test_index_of_the_settings_is_kept():
    assert fitted(*COUPONS).predict(PAIR, CAPS, GRID).index.tolist() == [7, 3, 5]


def test_one_coupon_moves_the_start_as_worked_by_hand():
    # At the start of 1 mm sheet every input is 0. With one view and one reading, the mean moves by
    # width² / (width² + scatter²) of the way.
    start = at_start(ONE_MM).iloc[0]
    coupon = logged(1, ONE_MM, Setting(*start), 4.1)
    model = MachineModel(RULES, ONE_VIEW).fit([coupon])
    found = model.predict(ONE_MM, CAPS, at_start(ONE_MM))["size_mm"][0]
    at, width, scatter = ONE_VIEW.size_at_start.mean, ONE_VIEW.size_at_start.sd, ONE_VIEW.noise_sd
    share = width**2 / (width**2 + scatter**2)
    assert found == pytest.approx(size_of(at + share * (response(4.1) - at)), abs=1e-9)


@pytest.mark.parametrize("size_mm", [3.2, 4.4, 5.9, 6.8])
def test_one_coupon_moves_the_start_towards_itself_and_not_past(size_mm):
    coupon = logged(1, ONE_MM, Setting(*at_start(ONE_MM).iloc[0]), size_mm)
    found = fitted(coupon).predict(ONE_MM, CAPS, at_start(ONE_MM))["size_mm"][0]
    assert 0.4 < response(found) / response(size_mm) < 1


def test_coupons_narrow_the_interval():
    def width(model):
        found = model.predict(PAIR, CAPS, GRID)
        return np.log(found["high_mm"] / found["low_mm"]).max()

    assert width(fitted(*COUPONS)) < 0.7 * width(fitted())


def test_chance_follows_the_share_of_a_student_t_above_the_minimum():
    from scipy import stats

    model = MachineModel(RULES, ONE_VIEW).fit(COUPONS)
    found = model.predict(PAIR, CAPS, GRID)
    dof = load_prior().noise_dof + 5
    # The response is a root of the size, so it is the roots that lie as a Student t does.
    low, middle, high = (np.sqrt(found[name]) for name in ("minimum_mm", "size_mm", "high_mm"))
    scale = (high - middle) / stats.t(dof).ppf(0.95)
    expected = stats.t(dof).sf((low - middle) / scale)
    assert found["chance"].to_numpy() == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("edge", ["low_mm", "size_mm", "high_mm"])
def test_the_chance_agrees_with_the_quantiles(edge):
    # A minimum that lies on a quantile is reached with that quantile's share of coupons.
    model = fitted(*COUPONS)
    found = model.predict(PAIR, CAPS, GRID).iloc[1]
    rule = SizeRule(k=float(found[edge]) / math.sqrt(1.2))
    asked = MachineModel(replace(RULES, judging=JudgingRules(size=rule))).fit(COUPONS)
    minimum = asked.predict(PAIR, CAPS, GRID).iloc[1]["minimum_mm"]
    assert minimum == pytest.approx(found[edge], abs=0.005)
    share = {"low_mm": 0.95, "size_mm": 0.5, "high_mm": 0.05}[edge]
    got = asked.predict(PAIR, CAPS, GRID).iloc[1]["chance"]
    # The minimum is rounded to 0.01 mm; the chance is at most this steep there.
    assert got == pytest.approx(share, abs=0.02)


def test_chances_are_those_of_the_prediction():
    model = fitted(*COUPONS)
    for stack in (PAIR, THREE):
        expected = model.predict(stack, CAPS, GRID, welds_since_dressing=40)["chance"]
        got = model.chances(stack, CAPS, GRID.to_numpy(), welds_since_dressing=40)
        assert got == pytest.approx(expected.to_numpy(), abs=1e-12)


def test_many_settings_at_once_are_predicted_like_one_by_one():
    # More settings than are worked on at once.
    model = fitted(*COUPONS)
    settings = np.column_stack([np.linspace(7, 14, 5000), np.full(5000, 200.0), np.full(5000, 3.0)])
    together = model.chances(THREE, CAPS, settings)
    some = [0, 1, 2046, 2047, 2048, 2049, 4095, 4096, 4999]
    alone = [model.chances(THREE, CAPS, settings[i : i + 1])[0] for i in some]
    assert together[some] == pytest.approx(alone, abs=1e-12)
    assert model.chances(THREE, CAPS, settings[:0]).shape == (0,)


def test_the_weakest_interface_speaks_for_a_stack():
    # Thinner sheet 0.7 at one interface, 1.0 at the other: 4√0.7 = 3.35, 4√1.0 = 4.00 mm.
    model = fitted(*(logged(n, THREE, SETTING, 2.6, 5.5) for n in range(1, 6)))
    assert set(model.predict(THREE, CAPS, GRID)["minimum_mm"]) == {3.35}
    model = fitted(*(logged(n, THREE, SETTING, 4.6, 3.4) for n in range(1, 6)))
    assert set(model.predict(THREE, CAPS, GRID)["minimum_mm"]) == {4.0}


def test_turning_coupons_or_the_question_over_changes_nothing():
    there = fitted(*COUPONS).predict(THREE, CAPS, GRID)
    back = fitted(*map(turned, COUPONS)).predict(THREE.turned_over(), CAPS, GRID)
    pd.testing.assert_frame_equal(there, back, check_exact=True)


def test_order_of_coupons_does_not_matter():
    some = [*COUPONS, logged(5, PAIR, SETTING, None), logged(6, THREE, SETTING, None, 4.0)]
    there = fitted(*some).predict(PAIR, CAPS, GRID)
    back = fitted(*reversed(some)).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(there, back, rtol=0, atol=1e-9)


def test_order_of_coupons_written_down_at_the_same_moment_does_not_matter():
    # A log kept by the day gives every coupon of a day the same time.
    made = [
        logged(n, PAIR, SETTING, 5.0, welds_since_dressing=welds, made_at=FIRST)
        for n, welds in ((1, 0), (2, 400))
    ]
    there = fitted(*made).predict(PAIR, CAPS, GRID)
    back = fitted(*reversed(made)).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(there, back, rtol=0, atol=1e-9)


def test_an_expelled_small_button_says_less_about_heat_than_a_plain_one():
    small = Setting(10, 200, 3)
    plain, expelled = (
        fitted(logged(1, PAIR, small, 4.0, expulsion=e)).predict(PAIR, CAPS, GRID)["size_mm"]
        for e in (False, True)
    )
    assert (expelled > plain).all()


def test_counts():
    model = fitted(
        *COUPONS,
        logged(8, PAIR, SETTING, None),
        logged(9, PAIR, SETTING, results=(InterfaceResult(failure=FailureType.BUTTON),)),
        logged(10, PAIR, SETTING, 5, voided="x"),
    )
    assert (model.n_coupons, model.left_out.no_size, model.left_out.voided) == (5, 1, 1)
    assert model.machine == "Gun"


def test_off_table_is_measured_over_expected_at_the_coupon_s_own_setting():
    start = at_start(PAIR).iloc[0]
    target = 5 * math.sqrt(1.2)
    coupons = [
        logged(1, PAIR, Setting(*start), round(0.9 * target, 9)),
        logged(2, PAIR, Setting(1.1 * start.iloc[0], *start.iloc[1:]), 5.0),
        logged(3, PAIR, Setting(*start), None),
    ]
    off = MachineModel(RULES).fit(coupons).off_table
    assert off.keys() == {1, 2}
    assert off[1] == pytest.approx(math.log(0.9), abs=1e-4)
    beliefs, more = {b.name: b.mean for b in load_prior().slopes}, math.log(1.1)
    expected = beliefs["current"] * more + beliefs["current_squared"] * math.tanh(more) ** 2
    expected += beliefs["thickness"] * math.log(1.2)
    assert off[2] == pytest.approx(math.log(5.0 / size_of(expected, 1.2)), abs=1e-4)


def test_coupons_of_two_machines_are_refused():
    other = logged(5, PAIR, SETTING, 5.0, machine="Other gun")
    with pytest.raises(InputError, match=r"of 2 machines \(Gun, Other gun\)"):
        fitted(*COUPONS, other)


def test_a_stack_without_published_start_is_refused():
    with pytest.raises(NoAdviceError, match="no published start for aluminium-silicon"):
        fitted().predict(stack_of(1, 1, surface=Surface.ALUMINIUM_SILICON), CAPS, GRID)


def test_a_simulated_machine_is_found_out():
    # 30 coupons of a machine 15 % weak with a flatter response than the prior believes.
    rng = np.random.default_rng(11)
    weak = MachineModel(RULES).prior
    truth = response(5 * 0.85)
    coupons = []
    for number in range(30):
        setting = Setting(round(rng.uniform(8, 13), 1), 200, 3.0)
        x = inputs(PAIR, CAPS, np.array([[setting.current_kA, 200, 3.0]]), RULES)[0, 0]
        slopes = weak.slope_means.copy()
        slopes[0] = 0.4
        size = size_of(truth + x @ slopes + rng.normal(0, 0.06), 1.2)
        coupons.append(logged(number, PAIR, setting, round(size, 2)))
    model = fitted(*coupons)
    found = model.predict(PAIR, CAPS, at_start(PAIR))["size_mm"][0]
    assert found == pytest.approx(0.85 * 5 * math.sqrt(1.2), rel=0.04)
    steps = pd.DataFrame({"current_kA": [9.0, 12.0], "weld_ms": 200.0, "force_kN": 3.0})
    low, high = model.predict(PAIR, CAPS, steps)["size_mm"]
    x = [inputs(PAIR, CAPS, row[None, :], RULES)[0, 0] for row in steps.to_numpy()]
    gained = response(high, 1.2) - response(low, 1.2)
    assert gained == pytest.approx((x[1] - x[0]) @ slopes, abs=0.06)
    assert model.mixture.scatter == pytest.approx(0.06, abs=0.02)


# Wear


def shrinking(per_unit):
    """Coupons at one setting over 400 welds, smaller by `per_unit` of log wear."""
    made = []
    for number, welds in enumerate(range(0, 400, 25)):
        size = 5.4 * math.exp(-per_unit * math.log1p(welds / 100))
        made.append(logged(number, PAIR, SETTING, round(size, 3), welds_since_dressing=welds))
    return made


def worn_over_fresh(model, welds):
    sizes = [
        model.predict(PAIR, CAPS, GRID, welds_since_dressing=each)["size_mm"].iloc[1]
        for each in (0, welds)
    ]
    return sizes[1] / sizes[0]


def test_coupons_that_shrink_with_wear_make_the_prediction_shrink():
    some, much = (worn_over_fresh(fitted(*shrinking(by)), 300) for by in (0.1, 0.2))
    # 300 welds are log(4) of wear; the prior holds the larger one back a little.
    assert some == pytest.approx(math.exp(-0.1 * math.log(4)), rel=0.05)
    assert math.exp(-0.2 * math.log(4)) - 0.01 < much < some - 0.03


def test_coupons_that_do_not_shrink_do_not():
    assert worn_over_fresh(fitted(*shrinking(0.0)), 300) == pytest.approx(1, abs=0.02)


def test_before_coupons_wear_shrinks_a_weld_a_little_and_makes_it_less_sure():
    fresh, worn = (
        fitted().predict(PAIR, CAPS, GRID, welds_since_dressing=welds).iloc[1] for welds in (0, 400)
    )
    assert 0.85 < worn["size_mm"] / fresh["size_mm"] < 1
    assert worn["high_mm"] / worn["low_mm"] > fresh["high_mm"] / fresh["low_mm"]


def test_the_caps_count_as_worn_as_with_the_newest_coupon():
    made = shrinking(0.2)
    model = fitted(*made[::-1])
    expected = model.predict(PAIR, CAPS, GRID, welds_since_dressing=375)
    pd.testing.assert_frame_equal(model.predict(PAIR, CAPS, GRID), expected)
    voided = replace(logged(99, PAIR, SETTING, 5.0, welds_since_dressing=0), voided="wrong caps")
    again = fitted(*made, voided).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(again, expected, rtol=0, atol=1e-9)


def test_unknown_wear_counts_as_freshly_dressed():
    model = fitted(*COUPONS)
    fresh = model.predict(PAIR, CAPS, GRID, welds_since_dressing=0)
    pd.testing.assert_frame_equal(model.predict(PAIR, CAPS, GRID), fresh)


def test_coupons_without_a_button_lower_what_is_predicted():
    start = Setting(*at_start(PAIR).iloc[0])
    sizes = [
        fitted(*(logged(n, PAIR, start, None) for n in range(count))).predict(
            PAIR, CAPS, at_start(PAIR)
        )
        for count in (0, 1, 3)
    ]
    assert [frame["size_mm"][0] for frame in sizes] == sorted(
        (frame["size_mm"][0] for frame in sizes), reverse=True
    )
    assert sizes[2]["chance"][0] < 0.5 < sizes[0]["chance"][0]


def test_another_prior_can_be_given():
    prior = load_prior()
    small = replace(prior, size_at_start=replace(prior.size_at_start, mean=response(4)))
    found = MachineModel(RULES, small).predict(ONE_MM, CAPS, at_start(ONE_MM))
    assert found["size_mm"][0] == pytest.approx(4)
