"""What the other machines of a shop say about a new one, and that it cannot harm them."""

import copy
import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from learning_makers import CAPS, MACHINE, RULES, logged, stack_of, views_of

from advisor.errors import InputError
from advisor.learning.advice import Advice
from advisor.learning.mixture import Mixture, learn, with_intercept
from advisor.learning.model import MachineModel
from advisor.learning.pooling import SHOP_WEIGHT, with_shop
from advisor.weld.published import published_start
from advisor.weld.setting import Setting

PAIR = stack_of(1.2, 1.2)
START = published_start(PAIR, RULES.bare_schedule)
#: Every machine of the invented shop welds this much smaller than the table says.
SHOP = 0.88
SCATTER = 0.04


def true_size(setting, dial=1.0):
    """An invented law: what flows is `dial` times what is dialled. [mm]"""
    heat = (dial * setting.current_kA / START.current_kA) ** 0.8
    heat *= (setting.weld_ms / START.weld_ms) ** 0.25 * (setting.force_kN / START.force_kN) ** -0.2
    return SHOP * 5 * math.sqrt(1.2) * heat


def weld(rng, name, number, setting, dial=1.0):
    size = round(true_size(setting, dial) * math.exp(rng.normal(0, SCATTER)), 2)
    return logged(number, PAIR, setting, size, machine=name)


def any_setting(rng):
    return Setting(
        round(START.current_kA * rng.uniform(0.85, 1.15), 1),
        round(START.weld_ms * rng.uniform(0.8, 1.25), -1),
        round(START.force_kN * rng.uniform(0.85, 1.15), 1),
    )


def other_machine(name, seed, count=25):
    rng = np.random.default_rng([5, seed])
    return MachineModel(RULES).fit([weld(rng, name, n, any_setting(rng)) for n in range(count)])


@pytest.fixture(scope="module")
def shop():
    return [other_machine(f"Other {seed}", seed) for seed in (1, 2, 3)]


def predicted(model, *settings):
    frame = pd.DataFrame(
        [[s.current_kA, s.weld_ms, s.force_kN] for s in settings],
        columns=["current_kA", "weld_ms", "force_kN"],
    )
    return model.predict(PAIR, CAPS, frame)


# The view of the shop

VIEWS = views_of(
    [[1.6, 0.8], [1.6, 0.1], [1.5, 0.8]],
    [[0.1, 0.3], [0.1, 0.1], [0.3, 0.3]],
    [0.05, 0.1, 0.1],
    6.0,
    [0.4, 0.4, 0.2],
)
BETWEEN = np.array([0.12, 0.2])


def taught(seed, count):
    rng = np.random.default_rng(seed)
    rows = with_intercept(rng.normal(0, 0.3, (count, 1)))
    return Mixture(learn(VIEWS, rows, rows @ [1.5, 0.6] + rng.normal(0, 0.06, count)))


def test_a_shop_without_other_machines_is_the_table():
    assert with_shop(VIEWS, [], BETWEEN) is VIEWS


def test_the_table_keeps_its_views_beside_one_for_each_scatter():
    pooled = with_shop(VIEWS, [taught(1, 9), taught(2, 4)], BETWEEN)
    assert pooled.weights.sum() == pytest.approx(1)
    assert pooled.weights[:3] == pytest.approx((1 - SHOP_WEIGHT) * VIEWS.weights)
    assert (pooled.means[:3] == VIEWS.means).all()
    assert (pooled.sds[:3] == VIEWS.sds).all()
    assert pooled.noise_sds[3:].tolist() == [0.05, 0.1]
    assert pooled.weights[3:] == pytest.approx(SHOP_WEIGHT * np.array([0.4, 0.6]))
    assert pooled.noise_dof == VIEWS.noise_dof


@pytest.mark.parametrize("counts", [(9,), (9, 4), (2, 30, 0)])
def test_what_machines_have_in_common_is_generalised_least_squares(counts):
    machines = [taught(seed, count) for seed, count in enumerate(counts)]
    pooled = with_shop(VIEWS, machines, BETWEEN)
    for column in range(2):
        # Each machine measures the common value with its own doubt and the machine's own shift.
        values = np.array([machine.moments()[0][column] for machine in machines])
        doubt = np.array([machine.moments()[1][column] for machine in machines])
        weight = np.linalg.inv(np.diag(doubt + BETWEEN[column] ** 2))
        ones = np.ones(len(counts))
        variance = 1 / (ones @ weight @ ones)
        common = variance * (ones @ weight @ values)
        assert pooled.means[3:, column] == pytest.approx(common)
        # A new machine has its own shift on top.
        assert pooled.sds[3:, column] == pytest.approx(np.sqrt(variance + BETWEEN[column] ** 2))


@pytest.mark.parametrize("current", [-0.5, 0.02, 0.9])
def test_where_the_coupons_were_dialled_does_not_tell_the_shop_from_the_table(current):
    views = replace(VIEWS, dial_sds=np.array([0.15, 0.15, 0.7]))
    seen = with_shop(views, [taught(1, 9)], BETWEEN).seeing(np.array([current]))
    assert seen.weights[:3].sum() == pytest.approx(1 - SHOP_WEIGHT)


# A new machine


def test_a_new_machine_starts_from_the_shop_and_the_table(shop):
    at_start = Setting(round(START.current_kA, 1), START.weld_ms, START.force_kN)
    truth, table = true_size(at_start), 5 * math.sqrt(1.2)
    fresh = predicted(MachineModel(RULES).fit([], others=shop), at_start)["size_mm"][0]
    assert truth < fresh < table - 0.3 * (table - truth)


def test_a_machine_like_the_others_is_predicted_better_with_one_coupon(shop):
    errors = {True: [], False: []}
    for seed in range(12):
        rng = np.random.default_rng([9, seed])
        first = weld(rng, "New", 1, any_setting(rng))
        asked = [any_setting(rng) for _ in range(10)]
        truth = np.array([true_size(setting) for setting in asked])
        for pooled in (True, False):
            model = MachineModel(RULES).fit([first], others=shop if pooled else ())
            off = np.log(predicted(model, *asked)["size_mm"].to_numpy() / truth)
            errors[pooled].append(np.sqrt(np.mean(off**2)))
    assert np.mean(errors[True]) < 0.8 * np.mean(errors[False])


def find_out(seed, dial, others, count=4):
    """Weld what is suggested, and return how far off the prediction then is where it suggests."""
    rng, made = np.random.default_rng([13, seed]), []
    while True:
        model = MachineModel(RULES).fit(made, others=others)
        found = Advice(model, PAIR, MACHINE, CAPS, RULES, made).suggestion
        if len(made) == count:
            return math.log(found.size_mm / true_size(found.setting, dial))
        made.append(weld(rng, MACHINE.name, len(made), found.setting, dial))


def test_a_dial_that_reads_15_percent_high_is_found_out_within_four_coupons(shop):
    off = np.abs([find_out(seed, 1 / 1.15, shop) for seed in range(6)])
    assert np.median(off) < 0.03
    assert off.max() < 0.08


def test_the_shop_does_not_hold_an_odd_machine_back(shop):
    # As good as without the shop, to within what four coupons scatter.
    pooled, alone = (
        np.sqrt(np.mean([find_out(seed, 1 / 1.15, others) ** 2 for seed in range(6)]))
        for others in (shop, ())
    )
    assert pooled < alone + SCATTER / 2


def test_nothing_flows_back_to_the_other_machines(shop):
    rng = np.random.default_rng(17)
    asked = [any_setting(rng) for _ in range(5)]
    before = [predicted(each, *asked) for each in shop]
    kept = [(each.mixture, copy.deepcopy(vars(each.mixture))) for each in shop]
    odd = [weld(rng, "New", n, any_setting(rng), dial=0.6) for n in range(30)]
    MachineModel(RULES).fit(odd, others=shop)
    for each, (mixture, inside), frame in zip(shop, kept, before, strict=True):
        assert each.mixture is mixture
        for name, value in inside.items():
            assert np.array_equal(getattr(mixture, name), value), name
        pd.testing.assert_frame_equal(predicted(each, *asked), frame, check_exact=True)


def test_order_of_the_other_machines_does_not_matter(shop):
    rng = np.random.default_rng(19)
    made, asked = [weld(rng, "New", 1, any_setting(rng))], any_setting(rng)
    there = predicted(MachineModel(RULES).fit(made, others=shop), asked)
    back = predicted(MachineModel(RULES).fit(made, others=shop[::-1]), asked)
    pd.testing.assert_frame_equal(there, back, rtol=0, atol=1e-9)


# Who counts


def test_the_machine_itself_and_machines_without_coupons_are_passed_over(shop):
    rng = np.random.default_rng(23)
    made, asked = [weld(rng, "Other 1", 1, any_setting(rng))], any_setting(rng)
    model = MachineModel(RULES).fit(made, others=[shop[0], MachineModel(RULES).fit([])])
    assert model.n_machines == 0
    alone = MachineModel(RULES).fit(made)
    pd.testing.assert_frame_equal(predicted(model, asked), predicted(alone, asked))
    assert MachineModel(RULES).fit(made, others=shop).n_machines == 2


def test_a_model_that_heard_the_shop_already_is_refused(shop):
    rng = np.random.default_rng(29)
    pooled = MachineModel(RULES).fit([weld(rng, "Third", 1, any_setting(rng))], others=shop)
    with pytest.raises(InputError, match="was fitted with others; fit it to its own coupons alone"):
        MachineModel(RULES).fit([weld(rng, "New", 1, any_setting(rng))], others=[pooled])


def test_fitting_again_without_the_shop_forgets_it(shop):
    rng = np.random.default_rng(31)
    made, asked = [weld(rng, "New", 1, any_setting(rng))], any_setting(rng)
    model = MachineModel(RULES).fit(made, others=shop).fit(made)
    assert model.n_machines == 0
    alone = MachineModel(RULES).fit(made)
    pd.testing.assert_frame_equal(predicted(model, asked), predicted(alone, asked))
