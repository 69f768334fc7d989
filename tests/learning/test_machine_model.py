import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from learning_makers import CAPS, RULES, SETTING, logged, stack_of, turned

from advisor.errors import InputError, NoAdviceError
from advisor.learning.features import inputs
from advisor.learning.model import MachineModel
from advisor.learning.prior import load_prior
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface

PAIR, THREE = stack_of(1.2, 1.2), stack_of(0.7, 1.0, 1.6)
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


def fitted(*coupons):
    return MachineModel(RULES).fit(coupons)


def test_without_coupons_the_published_start_gives_the_published_target():
    # 5√1.2 = 5.48 mm: target of the TWI FAQ; 4√1.2 = 4.38 mm.
    found = MachineModel(RULES).predict(PAIR, CAPS, at_start(PAIR)).iloc[0]
    assert found["size_mm"] == pytest.approx(5.48, abs=0.005)
    assert found["minimum_mm"] == 4.38
    assert found["low_mm"] < found["minimum_mm"] < found["high_mm"]


def test_unfitted_and_fitted_to_nothing_are_the_same():
    first = MachineModel(RULES).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(first, fitted().predict(PAIR, CAPS, GRID))


def test_index_of_the_settings_is_kept():
    assert fitted(*COUPONS).predict(PAIR, CAPS, GRID).index.tolist() == [7, 3, 5]


def test_one_coupon_moves_the_start_as_worked_by_hand():
    # At the start every input is 0: prior N(ln 5, 0.12²), one reading with scatter 0.085, so the
    # mean moves by 0.12² / (0.12² + 0.085²) of the way.
    start = at_start(PAIR).iloc[0]
    coupon = logged(1, PAIR, Setting(*start), 4.38)
    found = fitted(coupon).predict(PAIR, CAPS, at_start(PAIR))["size_mm"][0]
    share = 0.12**2 / (0.12**2 + 0.085**2)
    prior = load_prior().size_at_start.mean + math.log(math.sqrt(1.2))
    assert math.log(found) == pytest.approx(prior + share * (math.log(4.38) - prior), abs=1e-9)


def test_coupons_narrow_the_interval():
    def width(model):
        found = model.predict(PAIR, CAPS, GRID)
        return np.log(found["high_mm"] / found["low_mm"]).max()

    assert width(fitted(*COUPONS)) < 0.7 * width(fitted())


def test_chance_follows_the_share_of_a_student_t_above_the_minimum():
    from scipy import stats

    model = fitted(*COUPONS)
    found = model.predict(PAIR, CAPS, GRID)
    dof = load_prior().noise_dof + 5
    scale = np.log(found["high_mm"] / found["size_mm"]) / stats.t(dof).ppf(0.95)
    expected = stats.t(dof).sf(np.log(found["minimum_mm"] / found["size_mm"]) / scale)
    assert found["chance"].to_numpy() == pytest.approx(expected, abs=1e-10)


def test_the_weakest_interface_speaks_for_a_stack():
    # Thinner sheet 0.7 at one interface, 1.0 at the other: 4√0.7 = 3.35, 4√1.0 = 4.00 mm.
    model = fitted(*(logged(n, THREE, SETTING, 2.6, 5.5) for n in range(1, 6)))
    assert set(model.predict(THREE, CAPS, GRID)["minimum_mm"]) == {3.35}
    model = fitted(*(logged(n, THREE, SETTING, 4.6, 3.4) for n in range(1, 6)))
    assert set(model.predict(THREE, CAPS, GRID)["minimum_mm"]) == {4.0}


def test_turning_coupons_or_the_question_over_changes_nothing():
    there = fitted(*COUPONS).predict(THREE, CAPS, GRID)
    back = fitted(*map(turned, COUPONS)).predict(THREE.turned_over(), CAPS, GRID)
    pd.testing.assert_frame_equal(there, back, rtol=0, atol=1e-10)


def test_order_of_coupons_does_not_matter():
    there = fitted(*COUPONS).predict(PAIR, CAPS, GRID)
    back = fitted(*reversed(COUPONS)).predict(PAIR, CAPS, GRID)
    pd.testing.assert_frame_equal(there, back, rtol=0, atol=1e-10)


def test_an_expelled_small_button_says_less_about_heat_than_a_plain_one():
    small = Setting(10, 200, 3)
    plain, expelled = (
        fitted(logged(1, PAIR, small, 4.0, expulsion=e)).predict(PAIR, CAPS, GRID)["size_mm"]
        for e in (False, True)
    )
    assert (expelled > plain).all()


def test_counts():
    model = fitted(
        *COUPONS, logged(9, PAIR, SETTING, None), logged(10, PAIR, SETTING, 5, voided="x")
    )
    assert (model.n_coupons, model.left_out.no_size, model.left_out.voided) == (4, 1, 1)
    assert model.machine == "Gun"


def test_off_table_is_measured_over_expected_at_the_coupon_s_own_setting():
    start = at_start(PAIR).iloc[0]
    target = 5 * math.sqrt(1.2)
    coupons = [
        logged(1, PAIR, Setting(*start), round(0.9 * target, 9)),
        logged(2, PAIR, Setting(1.1 * start.iloc[0], *start.iloc[1:]), 5.0),
        logged(3, PAIR, Setting(*start), None),
    ]
    off = MachineModel(RULES).off_table(coupons)
    assert off.keys() == {1, 2}
    assert off[1] == pytest.approx(math.log(0.9), abs=1e-4)
    slope = load_prior().slopes[0].mean
    assert off[2] == pytest.approx(math.log(5.0 / target) - slope * math.log(1.1), abs=1e-4)


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
    truth = np.log(5 * 0.85)
    coupons = []
    for number in range(30):
        setting = Setting(round(rng.uniform(8, 13), 1), 200, 3.0)
        x = inputs(PAIR, CAPS, np.array([[setting.current_kA, 200, 3.0]]), RULES)[0, 0]
        slopes = weak.slope_means.copy()
        slopes[0] = 0.4
        size = math.sqrt(1.2) * math.exp(truth + x @ slopes + rng.normal(0, 0.06))
        coupons.append(logged(number, PAIR, setting, round(size, 2)))
    model = fitted(*coupons)
    found = model.predict(PAIR, CAPS, at_start(PAIR))["size_mm"][0]
    assert found == pytest.approx(0.85 * 5 * math.sqrt(1.2), rel=0.04)
    assert model.regression.coef_[0] == pytest.approx(0.4, abs=0.15)
    assert model.regression.noise_sd_ == pytest.approx(0.06, abs=0.02)


def test_another_prior_can_be_given():
    prior = load_prior()
    small = replace(prior, size_at_start=replace(prior.size_at_start, mean=math.log(4)))
    found = MachineModel(RULES, small).predict(PAIR, CAPS, at_start(PAIR))
    assert found["size_mm"][0] == pytest.approx(4 * math.sqrt(1.2))
