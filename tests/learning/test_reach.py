"""Which times, forces and currents may be tried, and what the coupons have to do with it."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, MACHINE, RULES, advice_on, bench_on, logged, stack_of

from advisor.coupons.verdict import Outcome
from advisor.errors import NoAdviceError
from advisor.learning.reach import GROUNDS, NEAR, grounds, question, reaches
from advisor.weld.machine import Machine
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

PAIR = stack_of(1.2, 1.2)
# Table B.1, high force, over 1.0 to 1.2 mm: 8 to 12 kA; the start is 11 kA, 210 ms, 3.1 kN.
START = published_start(PAIR, RULES.bare_schedule)
TABLE = Setting(11.0, 210, 3.1)
LONG = Setting(7.5, 500, 2.0)
PASSED, FAILED = 5.4, 3.9


def asked(coupons=(), machine=MACHINE, stack=PAIR):
    return question(stack, machine, CAPS, RULES, coupons)


def made(*settings, size_mm=PASSED, first=1, **changes):
    return [
        logged(n, PAIR, setting, size_mm, **changes) for n, setting in enumerate(settings, first)
    ]


def places(coupons, **more):
    return [(g.weld_ms, g.force_kN, g.is_table) for g in grounds(asked(coupons, **more))]


ON_TABLE, ON_LONG = (210, 3.1, True), (500, 2.0, False)


# Grounds


def test_without_coupons_only_the_table_is_tried():
    (ground,) = grounds(asked())
    assert (ground.weld_ms, ground.force_kN, ground.is_table) == ON_TABLE
    assert ground.current_kA == START.current_kA
    assert ground.tested == ()


def test_passes_far_from_the_table_outweigh_it_where_it_was_never_tried():
    assert places(made(LONG)) == [ON_LONG]


@pytest.mark.parametrize("size_mm", [PASSED, FAILED])
def test_the_table_stays_where_anything_near_it_was_tested(size_mm):
    near = made(replace(TABLE, weld_ms=240), size_mm=size_mm, first=2)
    assert places([*made(LONG), *near]) == [ON_LONG, ON_TABLE]


def test_failures_far_from_the_table_speak_for_no_ground():
    assert places(made(LONG, size_mm=FAILED)) == [ON_TABLE]
    assert places(made(LONG, size_mm=PASSED, expulsion=True)) == [ON_TABLE]
    assert places(made(LONG, size_mm=None)) == [ON_TABLE]


def test_coupons_of_other_kinds_voided_ones_and_other_machines_make_no_ground():
    others = [
        logged(1, stack_of(0.8, 0.8), LONG, PASSED),
        logged(2, stack_of(1.2, 1.2, 1.2), LONG, PASSED, PASSED),
        logged(3, stack_of(1.2, 1.2, state=AdhesiveState.WET), LONG, PASSED),
        logged(4, PAIR, LONG, PASSED, voided="wrong caps"),
        logged(5, PAIR, LONG, PASSED, machine="Other gun"),
    ]
    assert places(others) == [ON_TABLE]
    assert places([logged(1, stack_of(1.1, 1.2), LONG, PASSED)]) == [ON_LONG]


@pytest.mark.parametrize("dial", ["weld_ms", "force_kN"])
@pytest.mark.parametrize("way", [1, -1])
def test_near_ends_at_a_fifth(dial, way):
    def moved(share):
        return replace(TABLE, **{dial: getattr(TABLE, dial) * (1 + share) ** way})

    assert places(made(moved(NEAR - 0.001))) == [ON_TABLE]
    assert len(places(made(moved(NEAR + 0.02)))) == 1
    assert not grounds(asked(made(moved(NEAR + 0.02))))[0].is_table


def test_the_ground_tested_last_comes_first_and_no_more_than_a_few():
    times = [300, 420, 600, 850, 1200]
    coupons = made(*[replace(LONG, weld_ms=weld_ms) for weld_ms in times])
    found = [weld_ms for weld_ms, *_ in places(coupons)]
    assert found == [1200, 850, 600, 420]
    assert len(found) == GROUNDS
    # Welded again, the first one becomes the newest.
    again = made(replace(LONG, weld_ms=300), first=6)
    assert places([*coupons, *again])[0][0] == 300


def test_a_ground_stays_near_the_middle_one_of_the_currents_that_passed_there():
    currents = [7.1, 8.6, 7.4]
    passed = made(*[replace(LONG, current_kA=current) for current in currents])
    failed = made(replace(LONG, current_kA=9.5), size_mm=FAILED, first=4)
    (ground,) = grounds(asked([*passed, *failed]))
    assert ground.current_kA == 7.4
    assert [each.number for each in ground.tested] == [1, 2, 3, 4]


def test_a_ground_is_on_the_dials_of_the_machine():
    mains = Machine("Gun", 15, 6, mains_hz=60, is_inverter=False)
    (ground,) = grounds(asked(made(replace(LONG, weld_ms=505, force_kN=2.04)), mains))
    assert ground.weld_ms == pytest.approx(500)  # 30 cycles of 60 Hz
    assert ground.force_kN == pytest.approx(2.0, abs=0.05)
    assert mains.round_force(ground.force_kN) == ground.force_kN


# Reach on a ground


def only_reach(coupons, machine=MACHINE):
    (found,) = reaches(asked(coupons, machine))
    return found


def test_untested_the_published_band_is_the_reach():
    found = only_reach([])
    assert (found.low_kA, found.high_kA, found.stop) == (pytest.approx(0.85 * 8), 12, "band")


def test_a_tested_table_reaches_15_percent_past_band_and_tests():
    found = only_reach(made(TABLE))
    assert (found.low_kA, found.high_kA) == pytest.approx((0.85 * 8, 1.15 * 12))
    assert found.stop == "beyond"
    hot = only_reach(made(replace(TABLE, current_kA=12.6)))
    assert hot.high_kA == pytest.approx(1.15 * 12.6)


def test_far_from_the_table_only_the_coupons_there_say_what_may_be_tried():
    # The band of 8 to 12 kA is for 210 ms; nothing is published for 500 ms.
    found = only_reach(made(LONG, replace(LONG, current_kA=8.5)))
    assert (found.low_kA, found.high_kA) == pytest.approx((0.85 * 7.5, 1.15 * 8.5))


def test_the_machine_ends_the_reach():
    found = only_reach(made(TABLE), Machine("Gun", 11.4, 6, smallest_current_kA=9.2))
    assert (found.low_kA, found.high_kA, found.stop) == (9.2, 11.4, "machine")
    assert found.currents_kA[0] == 9.2
    assert found.currents_kA[-1] == 11.4


def test_a_setting_is_held_by_the_reach_it_lies_in():
    found = only_reach(made(TABLE))
    assert found.holds(TABLE)
    assert found.holds(replace(TABLE, weld_ms=240, current_kA=found.high_kA))
    assert not found.holds(replace(TABLE, current_kA=found.high_kA + 0.1))
    assert not found.holds(replace(TABLE, current_kA=found.low_kA - 0.1))
    assert not found.holds(replace(TABLE, weld_ms=300))
    assert not found.holds(replace(TABLE, force_kN=2.0))


# Expulsion


def test_expulsion_ends_the_reach_a_twentieth_below():
    found = only_reach(made(replace(TABLE, current_kA=11.4), expulsion=True))
    assert found.stop == "expulsion"
    assert found.expelled_kA == 11.4
    assert found.high_kA == pytest.approx(0.95 * 11.4)


@pytest.mark.parametrize(("calm", "is_kept"), [(0, True), (4, True), (5, False), (12, False)])
def test_one_expulsion_among_many_calm_welds_as_hot_is_scatter(calm, is_kept):
    hot = replace(TABLE, current_kA=11.4)
    coupons = [*made(hot, expulsion=True), *made(*[hot] * calm, first=2)]
    assert (only_reach(coupons).stop == "expulsion") == is_kept


def test_calm_welds_below_it_do_not_outvote_an_expulsion():
    hot, cool = replace(TABLE, current_kA=11.4), replace(TABLE, current_kA=11.0)
    coupons = [*made(hot, expulsion=True), *made(*[cool] * 12, first=2)]
    assert only_reach(coupons).stop == "expulsion"


@pytest.mark.parametrize(
    ("changes", "is_kept"),
    [
        # As little force throws metal out sooner: it says nothing of more force.
        ({"force_kN": 2.7}, False),
        ({"force_kN": 3.4}, True),
        # Longer than anything that may be tried here.
        ({"weld_ms": 420}, False),
        ({"weld_ms": 180}, True),
    ],
)
def test_an_expulsion_counts_where_it_would_happen_here_too(changes, is_kept):
    expelled = made(replace(TABLE, current_kA=11.4, **changes), expulsion=True)
    assert (only_reach(expelled).stop == "expulsion") == is_kept


def test_an_expulsion_below_the_band_leaves_something_below_it_to_try():
    # Made with another time, so that no coupon of the table's ground lowers its foot.
    expelled = made(Setting(6.0, 100, 3.1), expulsion=True)
    found = only_reach(expelled)
    assert found.low_kA < found.high_kA == pytest.approx(0.95 * 6.0)
    assert MACHINE.round_current(found.currents_kA[-1]) == found.currents_kA[-1]


def test_each_ground_has_its_own_reach():
    coupons = [*made(LONG), *made(replace(TABLE, current_kA=11.4), expulsion=True, first=2)]
    by_time = {each.ground.weld_ms: each for each in reaches(asked(coupons))}
    # At 2.0 kN, hotter welds at 3.1 kN threw metal out too.
    assert by_time[210].stop == "expulsion"
    assert by_time[500].high_kA == pytest.approx(1.15 * 7.5)


# Refusals


def test_a_machine_in_none_of_the_ranges_is_refused_with_the_table_s_numbers():
    with pytest.raises(
        NoAdviceError, match=r"at most 6\.5 kA.* band for this stack is 8 to 12 kA, so 1\.5 kA are"
    ):
        reaches(asked([], Machine("Gun", 6.5, 6)))


def test_a_ground_the_machine_has_left_does_not_stop_the_advice():
    # Welded at 12 kA before the machine lost current; the table's 8 to 12 kA is still in range.
    weakened = Machine("Gun", 9.5, 6)
    coupons = made(Setting(12.0, 100, 3.1))
    assert [each.ground.is_table for each in reaches(asked(coupons, weakened))] == [True]


# What is suggested there


def test_a_machine_that_passes_far_from_the_table_is_advised_there():
    coupons = made(*[LONG] * 3, size_mm=5.6)
    found = advice_on(coupons).suggestion
    assert (found.setting.weld_ms, found.setting.force_kN) == (500, 2.0)
    assert found.setting.current_kA == pytest.approx(7.5, abs=0.6)
    assert found.chance_sound > 0.8
    next_one = advice_on(coupons).next_coupon
    assert next_one.setting.same_as(LONG)


def test_the_table_is_left_only_for_a_better_chance():
    # Far away it just passes, and at the table it passes well.
    coupons = [*made(*[LONG] * 3, size_mm=4.5), *made(*[TABLE] * 3, size_mm=5.5, first=4)]
    found = advice_on(coupons).suggestion
    assert found.setting.weld_ms == 210


@given(
    st.lists(
        st.tuples(
            st.builds(Setting, st.floats(6, 14), st.floats(80, 900), st.floats(1, 5.5)),
            st.floats(3.5, 6.5),
            st.booleans(),
        ),
        max_size=6,
    )
)
def test_whatever_was_tested_the_suggestion_lies_on_one_of_the_grounds(drawn):
    coupons = [
        logged(n, PAIR, setting, round(size, 2), expulsion=expelled)
        for n, (setting, size, expelled) in enumerate(drawn)
    ]
    bench = bench_on(coupons)
    assert all(each.low_kA <= each.high_kA for each in bench.reaches)
    reach, best = bench.reach, bench.best
    assert any(reach is each for each in bench.reaches)
    assert best.force_kN == reach.ground.force_kN
    assert best.weld_ms >= reach.ground.weld_ms
    assert best.weld_ms == reach.ground.weld_ms or best.current_kA == reach.currents_kA[-1]
    assert reach.low_kA - 1e-9 <= best.current_kA <= reach.high_kA + 1e-9
    for ground in grounds(bench.asked):
        outcomes = [each.verdict.outcome for each in ground.tested]
        assert ground.is_table or Outcome.PASS in outcomes
