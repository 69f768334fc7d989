import json

import numpy as np
import pytest

from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import Outcome
from advisor.learning.invented_machine import SCENARIOS, STACKS, InventedMachine, Scenario
from advisor.learning.step_up import STEP_KA, step_up
from advisor.learning.virtual_shop import MOST, compare, follow_advice, invented_machine, main
from advisor.weld.setting import Setting

RULES = ShopRules()
SMALL = 40


def machine(scenario=SCENARIOS[0], stack=STACKS[0], seed=3):
    return InventedMachine(scenario, stack, RULES, np.random.default_rng(seed))


def at(shop, factor):
    start = shop.start
    return Setting(factor * start.current_kA, start.weld_ms, start.force_kN)


@pytest.fixture(scope="module")
def small_run():
    return compare(SMALL, seed=1)


# The invented machines


def test_too_little_current_fuses_nothing_and_too_much_throws_metal_out():
    shop = machine()
    cold, hot = shop.weld(at(shop, 0.5)).coupon, shop.weld(at(shop, 1.6)).coupon
    assert cold.results[0].size_mm is None
    assert not cold.expulsion
    assert hot.expulsion
    assert shop.true_chance(at(shop, 0.5)) == shop.true_chance(at(shop, 1.6)) == 0


def test_every_kind_of_machine_has_a_sound_setting_to_find():
    for index in range(len(SCENARIOS) * 2):
        shop = invented_machine(index, 0, RULES)
        best = max(shop.true_chance(at(shop, f), 400) for f in np.linspace(0.7, 1.6, 31))
        assert best > 0.9, shop.scenario.name


def test_growth_is_a_straight_line_neither_in_logarithms_nor_in_the_response():
    quiet = Scenario("quiet", scatter=0.001, edge=3.0)
    sizes = []
    for factor in (0.85, 1.0, 1.0 / 0.85):
        shop = machine(quiet)
        made = [shop.weld(at(shop, factor)).coupon.results[0].size_mm for _ in range(9)]
        sizes.append(np.mean(made))
    # Equal steps of log current: the first gains at least half as much again as the second. The
    # response of the model is a root of the size.
    for low, middle, high in (np.log(sizes), np.sqrt(sizes)):
        assert middle - low > 1.5 * (high - middle) > 0


def test_expulsion_takes_size_away_and_wear_takes_heat_away():
    shop = machine(Scenario("hot", scatter=0.001, edge=0.5))
    calm = machine(Scenario("calm", scatter=0.001, edge=3.0))
    assert (
        shop.weld(at(shop, 1.0)).coupon.results[0].size_mm
        < calm.weld(at(calm, 1.0)).coupon.results[0].size_mm
    )
    worn = machine(Scenario("worn", scatter=0.001, wear=0.01))
    setting = at(worn, 0.95)
    first, *_, last = [worn.weld(setting).coupon.results[0].size_mm for _ in range(100)]
    assert last < first


def test_machines_repeat_by_seed_and_differ_between_seeds():
    def sizes(seed):
        shop = invented_machine(2, seed, RULES)
        return [shop.weld(at(shop, 1.0)).coupon.results for _ in range(5)]

    assert sizes(1) == sizes(1)
    assert sizes(1) != sizes(2)


def test_every_scenario_meets_every_stack():
    meetings = {
        (shop.scenario.name, shop.stack)
        for shop in (invented_machine(index, 0, RULES) for index in range(64))
    }
    assert len(meetings) == len(SCENARIOS) * len(STACKS)


# The procedures


def test_step_up_starts_at_the_foot_of_the_band_and_ends_on_two_passes():
    shop = machine()
    setting = step_up(shop, MOST)
    currents = [each.coupon.setting.current_kA for each in shop.coupons]
    assert currents[0] == shop.start.row.current_kA.low
    assert [each.verdict.outcome for each in shop.coupons[-2:]] == [Outcome.PASS] * 2
    assert currents[-2:] == [setting.current_kA] * 2
    rises = np.diff(currents)
    assert set(np.round(rises, 6)) <= {0.0, STEP_KA}


def test_step_up_backs_off_after_expulsion_and_does_not_come_back():
    shop = machine(Scenario("hot", dial=1.2, dial_sd=0.001, onset=0.5, at_start=5.6, edge=0.8))
    assert step_up(shop, MOST) is not None
    thrown = [each.coupon.setting.current_kA for each in shop.coupons if each.coupon.expulsion]
    assert thrown
    first = next(n for n, each in enumerate(shop.coupons) if each.coupon.expulsion)
    assert max(each.coupon.setting.current_kA for each in shop.coupons[first + 1 :]) < thrown[0]


def test_both_give_up_on_a_machine_that_cannot():
    hopeless = Scenario("hopeless", answer=0.0, dial=0.6)
    assert step_up(machine(hopeless), 6) is None
    shop = machine(hopeless)
    assert follow_advice(shop, 4) is None
    assert len(shop.coupons) == 4


def test_the_advice_stops_only_on_a_run_of_passes():
    shop = machine()
    setting = follow_advice(shop, MOST)
    assert [each.verdict.outcome for each in shop.coupons[-2:]] == [Outcome.PASS] * 2
    assert all(each.coupon.setting.same_as(setting) for each in shop.coupons[-2:])


# What they reach


def test_the_advice_needs_fewer_coupons_and_finds_better_settings(small_run):
    by = small_run.groupby("method")
    median, sound = by["coupons"].median(), by["true_chance"].mean()
    assert median["advice"] <= 0.75 * median["step_up"]
    assert sound["advice"] > 0.92
    assert sound["advice"] > sound["step_up"]


def test_wrong_claims_are_rare(small_run):
    claimed = small_run[(small_run["method"] == "advice") & small_run["found"]]
    assert len(claimed) >= 0.8 * SMALL
    # 5 % is the aim for many machines; of 40, four wrong ones are still consistent with it.
    assert (claimed["true_chance"] < 0.8).sum() <= 4


def test_the_same_seed_gives_the_same_table(small_run):
    again = compare(4, seed=1)
    assert again.equals(small_run.head(8))


def test_the_command_prints_json(capsys):
    assert main(["--machines", "3", "--seed", "5", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["machines"], found["seed"], found["step_kA"]) == (3, 5, STEP_KA)
    assert set(found["overall"]) == {"advice", "step_up"}
    assert found["overall"]["advice"]["coupons_median"] >= 2
    assert len(found["by_scenario"]) == 3
    for share in found["coverage_90_without_coupons"].values():
        assert 0 <= share <= 1


def test_the_command_prints_a_table(capsys):
    assert main(["--machines", "1"]) == 0
    out = capsys.readouterr().out
    assert "by the handbook" in out
    assert "step_up" in out
    assert "90 % interval without coupons, at the suggestion" in out


def test_no_machine_is_refused(capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["--machines", "0"])
    assert "--machines is 0; it must be 1 or more" in capsys.readouterr().err
