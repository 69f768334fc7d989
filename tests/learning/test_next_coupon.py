from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from learning_makers import CAPS, MACHINE, RULES, advice_on, bench_on, logged, stack_of, turned
from strategies import coupons as any_coupon
from strategies import electrodes, machines, stacks

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome, judge
from advisor.errors import NoAdviceError
from advisor.learning.choice import ENOUGH, at_time
from advisor.learning.doubt import Doubt
from advisor.learning.next_coupon import MANY, passing_run
from advisor.learning.reach import question, reaches
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import SteelFamily, Surface

PAIR = stack_of(1.2, 1.2)
PASSING = Setting(11.0, 210, 3.1, squeeze_ms=300, hold_ms=200)


def ask(coupons=(), stack=PAIR, machine=MACHINE, caps=CAPS, rules=RULES):
    return advice_on(coupons, stack, machine, caps, rules).next_coupon


def made(*sizes_mm, **changes):
    return [logged(n, PAIR, PASSING, size, **changes) for n, size in enumerate(sizes_mm, start=1)]


# Stopping


def test_two_good_passes_at_one_setting_are_enough():
    found = ask(made(5.5, 5.5))
    assert found.stop
    assert found.setting == PASSING
    assert (found.passes, found.wanted) == (2, 2)
    assert found.chance_sound >= ENOUGH
    assert found.reason.startswith("Stop: 2 passes in a row at 11 kA, and the chance of a sound")


def test_one_pass_is_not_enough_and_is_repeated():
    found = ask(made(5.5))
    assert not found.stop
    assert found.setting == PASSING
    assert found.passes == 1
    assert "It passed: weld the same again, for it takes 2 passes in a row" in found.reason


def test_a_shop_that_asks_for_three_gets_three():
    strict = replace(RULES, coverage=CoverageRules(passes_in_a_row=3))
    assert not ask(made(5.5, 5.5), rules=strict).stop
    assert ask(made(5.5, 5.5, 5.5), rules=strict).stop


def test_two_bare_passes_do_not_stop():
    # Minimum 4√1.2 = 4.38 mm: both pass, and one in several to come would not.
    found = ask(made(4.5, 4.4))
    assert not found.stop
    assert found.chance_sound < ENOUGH


# Around the target 5√1.2 = 5.48 mm, so that no current is better, but a third apart: whatever was
# believed of the machine, with such scatter more than one weld in 20 falls below 4.38 mm.
@pytest.mark.parametrize("sizes_mm", [(6.2, 4.5), (4.6, 6.2)])
def test_a_run_that_is_kept_stops_only_once_it_is_likely_sound(sizes_mm):
    found = ask(made(*sizes_mm))
    assert (found.passes, found.setting) == (2, PASSING)
    assert found.chance_sound < ENOUGH
    assert not found.stop
    assert "2 passes in a row, but the chance of a sound weld is" in found.reason.lower()


def test_such_a_run_ends_once_enough_passes_agree():
    found = [ask(made(6.2, 4.5, *[5.5] * more)) for more in (0, 1, 2, 4, 8)]
    assert [each.stop for each in found] == [each.chance_sound >= ENOUGH for each in found]
    assert found[-1].stop
    assert found[-1].passes == 10


def test_a_failing_newest_coupon_ends_the_run_whatever_came_before():
    good = made(*[5.5] * 8)
    for bad in (
        logged(9, PAIR, PASSING, 4.0),
        logged(9, PAIR, PASSING, 5.5, expulsion=True),
        logged(9, PAIR, replace(PASSING, current_kA=12.5), 5.9, cracks=True),
    ):
        assert not ask([*good, bad]).stop


def test_passes_with_other_caps_or_on_another_stack_do_not_count():
    assert not ask(made(5.5, 5.5, electrode=Electrode(CapShape.DOME, 5.5))).stop
    other = [logged(n, stack_of(1.2, 1.1), PASSING, 5.5) for n in (1, 2, 3)]
    assert not ask(other).stop


def test_the_run_counts_back_to_the_last_other_setting():
    coupons = [
        *made(5.5, 5.5),
        logged(3, PAIR, replace(PASSING, current_kA=11.4), 5.6),
        logged(4, PAIR, PASSING, 5.4),
        logged(5, PAIR, PASSING, 5.4),
    ]
    asked = question(PAIR, MACHINE, CAPS, RULES, coupons)
    assert [each.number for each in passing_run(asked)] == [4, 5]


# Which coupon


def test_the_first_coupon_is_the_suggestion():
    found = ask()
    assert found.setting == advice_on().suggestion.setting
    assert found.reason.startswith("Nothing of this kind tested yet: begin here")


def test_after_a_failure_it_moves_and_stays_near_the_best():
    coupons = made(3.9)
    found = ask(coupons)
    best = advice_on(coupons).suggestion
    assert found.setting.current_kA > PASSING.current_kA
    assert found.chance_sound >= best.chance_sound - 0.035
    assert "Teaches most among the settings about as good as the best" in found.reason


@pytest.mark.parametrize("sizes_mm", [(3.9,), (5.2, 4.2), (4.6, 4.5, 4.3)])
def test_a_coupon_chosen_to_teach_is_expected_to_take_doubt_away(sizes_mm):
    found = ask(made(*sizes_mm))
    assert 0 < found.doubt_after_kA < found.doubt_kA


def test_it_teaches_at_least_as_much_as_the_best_setting_would():
    coupons = made(3.9)
    found = ask(coupons)
    bench = bench_on(coupons)
    settings = at_time(bench.reach, bench.best.weld_ms)
    sound = bench.outlook.chances(PAIR, CAPS, settings).sound
    doubt = Doubt(bench.outlook, bench.asked, settings[sound >= sound.max() - 0.1])
    assert found.doubt_kA == pytest.approx(doubt.now_kA())
    assert found.doubt_after_kA <= doubt.after_kA(bench.best) + 1e-12


def test_a_coupon_to_prove_a_run_or_to_begin_with_is_not_weighed():
    assert ask().doubt_after_kA is None
    assert ask(made(5.5)).doubt_after_kA is None
    assert ask(made(5.5, 5.5)).doubt_after_kA is None


def test_endless_coupons_point_at_the_machine():
    scattered = made(*[5.6, 3.2, 6.3, 3.0] * 4)
    assert len(scattered) > MANY
    found = ask(scattered)
    assert not found.stop
    assert "16 coupons have not settled it: look at caps, force, cables" in found.reason


def test_a_stack_without_a_published_start_is_refused():
    with pytest.raises(NoAdviceError, match="no published start for weld-through primer"):
        ask(stack=stack_of(1, 1, surface=Surface.WELD_PRIMER))


# Whatever is asked

PUBLISHED = {
    "families": (SteelFamily.LOW_CARBON,),
    "surfaces": (Surface.BARE, Surface.GALVANNEALED, Surface.ELECTRO_ZINC, Surface.HOT_DIP_ZINC),
}


@st.composite
def questions(draw):
    machine = draw(machines())
    stack = draw(stacks(**PUBLISHED))
    log = draw(st.lists(any_coupon(st.just(stack), machine=machine.name), max_size=4))
    coupons = [LoggedCoupon(n, c, judge(c, RULES.judging)) for n, c in enumerate(log)]
    return stack, machine, draw(electrodes()), coupons


def answer(stack, machine, caps, coupons):
    try:
        return ask(coupons, stack, machine, caps)
    except NoAdviceError:
        return None


def is_allowed(reach, asked, setting):
    """Within reach, or longer where the machine gives no more current."""
    at_its_time = replace(setting, weld_ms=reach.ground.weld_ms)
    longer = reach.stop == "machine" and setting.weld_ms <= asked.longest_ms
    return reach.holds(setting) or (longer and reach.holds(at_its_time))


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(questions())
def test_the_next_coupon_is_within_reach_and_never_stops_on_a_failure(asked):
    stack, machine, caps, coupons = asked
    found = answer(*asked)
    assume(found is not None)
    machine.check(found.setting)
    asked = question(stack, machine, caps, RULES, coupons)
    assert any(is_allowed(each, asked, found.setting) for each in reaches(asked))
    if found.stop:
        newest = max(coupons, key=lambda each: (each.coupon.made_at, each.number))
        assert newest.verdict.outcome is Outcome.PASS
        assert found.passes >= found.wanted


@settings(max_examples=10, suppress_health_check=[HealthCheck.too_slow])
@given(questions())
def test_turning_everything_over_changes_nothing_to_the_last_bit(asked):
    stack, machine, caps, coupons = asked
    there = answer(*asked)
    back = answer(stack.turned_over(), machine, caps, [turned(each) for each in coupons])
    assume(there is not None)
    assert back == there
