"""The invented shop: marked, the same every time, with every state and finding that pages show.

What it should show is asked through the readings of the review rooms, as a lead would.
"""

from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from math import isfinite, sqrt
from statistics import median

import pytest

from advisor.coupons.coverage import BONDED_MISSING, CoverState
from advisor.coupons.purpose import Purpose
from advisor.coupons.verdict import Outcome
from advisor.learning.advice import Advice
from advisor.learning.model import MachineModel
from advisor.review.comparison import compare
from advisor.review.control_charts import Rule
from advisor.review.drift import read_drift
from advisor.review.foretold import AS_SAID, honesty_of_sums
from advisor.review.pareto import pareto
from advisor.review.standing import Standing, read_groups
from advisor.store.auditing import SOON, expiring
from advisor.store.demo import fill_demo
from advisor.store.demo_coupons import DRIFTING, MACHINES, SEED, demo_coupons
from advisor.store.lead import all_drift, dressing
from advisor.store.log import open_log
from advisor.store.reviewing import Which
from advisor.weld.published import published_start
from advisor.weld.stack import AdhesiveState

NOW = datetime(2026, 6, 3, 9, 30, tzinfo=UTC)
MONDAY = datetime(2026, 6, 1, tzinfo=UTC)
WEEK = timedelta(days=7)
SINCE = (NOW - timedelta(days=90)).date()
RELEASES = Which(since=SINCE, purpose=Purpose.RELEASE)
EVERYTHING = Which(since=SINCE)
NOOR, ILKA, PIET = "Noor Adeyemi", "Ilka Brandvik", "Piet Hallas"
NORTH, SOUTH, EAST = (machine.name for machine in MACHINES)
#: The first and last minute of a week and of a day, and a year's end.
MOMENTS = (
    MONDAY + timedelta(minutes=1),
    MONDAY + timedelta(hours=7, minutes=59),
    NOW,
    MONDAY + timedelta(days=6, hours=23, minutes=59),
    datetime(2027, 1, 1, 0, 30, tzinfo=UTC),
)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The shop in a file, for reading."""
    log = open_log(f"sqlite:///{tmp_path_factory.mktemp('demo') / 'log.sqlite'}")
    fill_demo(log, NOW)
    yield log
    log.close()


@pytest.fixture(scope="module")
def drifts(demo):
    return {each.machine: each.reading for each in all_drift(demo)}


def joints(log, now=NOW):
    return {state.stored.joint.name: state for state in log.joint_states(now=now)}


def both_ways(log, now=NOW):
    since = (now - timedelta(days=90)).date()
    return [Which(since=since), Which(since=since, purpose=Purpose.RELEASE)]


# --- what it is ---------------------------------------------------------------------------------


def test_it_is_marked_and_the_same_on_every_database(url, demo):
    log = open_log(url, shop_name="Again")
    fill_demo(log, NOW)
    assert log.is_demo
    assert all("invented" in adhesive.note for adhesive in log.adhesives())
    first, again = list(demo.iter_coupons()), list(log.iter_coupons())
    assert [(c.number, c.coupon, c.verdict, c.voided) for c in again] == [
        (c.number, c.coupon, c.verdict, c.voided) for c in first
    ]
    for event in ("sound", "expulsion"):
        sums, there = demo.foretold_sums(event), log.foretold_sums(event)
        assert there.count == sums.count
        assert there.foretold == pytest.approx(sums.foretold)
    log.close()


def test_a_real_log_is_not_marked(sqlite_log):
    assert not sqlite_log.is_demo


def test_it_is_ten_weeks_of_a_shop_with_three_machines(demo):
    found = [each.coupon for each in demo.iter_coupons()]
    assert len(demo.machines()) == 3
    assert len(demo.welders()) == 6
    assert 350 <= len(found) <= 450
    oldest, newest = min(c.made_at for c in found), max(c.made_at for c in found)
    assert timedelta(weeks=10) <= NOW - oldest <= timedelta(weeks=11)
    assert newest < NOW
    assert all(8 <= c.made_at.hour <= 16 for c in found)


def test_another_seed_moves_sizes_and_nothing_else():
    def without_sizes(coupon):
        return coupon.made_at, coupon.welder, coupon.stack, coupon.setting, coupon.expulsion

    first, other = demo_coupons(NOW), demo_coupons(NOW, SEED + 1)
    assert list(map(without_sizes, first)) == list(map(without_sizes, other))
    assert sum(a.results != b.results for a, b in zip(first, other, strict=True)) > 300


def test_a_first_try_that_is_far_too_cold_gives_a_small_weld(demo):
    sizes = {True: [], False: []}
    for each in demo.iter_coupons():
        coupon = each.coupon
        start = published_start(coupon.stack).current_kA
        if coupon.machine == NORTH and not coupon.expulsion and coupon.results[0].size_mm:
            root = sqrt(coupon.stack.interfaces[0].thinner_mm)
            is_cold = coupon.setting.current_kA < 0.9 * start
            sizes[is_cold].append(coupon.results[0].size_mm / root)
    assert len(sizes[True]) >= 3
    assert max(sizes[True]) < 4 < median(sizes[False])


def test_every_row_is_where_its_seal_says(demo):
    assert demo.verify().is_sound


# --- drift and wear -----------------------------------------------------------------------------


@pytest.mark.parametrize("now", MOMENTS, ids=str)
def test_one_machine_drifts_and_one_welder_is_below_at_any_moment(sqlite_url, now):
    log = open_log(sqlite_url)
    fill_demo(log, now)
    rules = log.rules().judging
    drifting = {}
    for machine in log.machines():
        coupons = log.drift_coupons(machine.name, log.electrodes(machine.name)[0])
        reading = read_drift(*coupons, rules)
        drifting[machine.name] = reading.direction if reading.is_drifting else ""
    assert drifting == {NORTH: "", SOUTH: "", EAST: "smaller"}
    for which in both_ways(log, now):
        below = [
            each.name
            for each in read_groups(log.pass_counts("welder", which))
            if each.standing is Standing.BELOW
        ]
        assert below == [PIET]
    states = joints(log, now)
    assert states["Rear panel, three sheets"].reopened
    assert states["Front fender, lower"].is_released
    assert [each.stored.joint.job for each in expiring(log.waiting(now), now)] == ["D-1013"]
    log.close()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chance_does_not_decide_what_is_found(sqlite_url, monkeypatch, seed):
    monkeypatch.setattr("advisor.store.demo.demo_coupons", lambda now: demo_coupons(now, seed))
    log = open_log(sqlite_url)
    fill_demo(log, NOW)
    readings = {each.machine: each.reading for each in all_drift(log)}
    assert [name for name, each in readings.items() if each.is_drifting] == [DRIFTING]
    assert isfinite(readings[SOUTH].wear.welds_left.high)
    for which in both_ways(log):
        found = read_groups(log.pass_counts("welder", which))
        assert [each.name for each in found if each.standing is Standing.BELOW] == [PIET]
        pair = compare(log.strata(NOOR, ILKA, which), NOOR, ILKA)
        assert pair.naive_p < 0.05 < 0.2 < pair.p
    log.close()


def test_the_drift_is_strong_and_not_the_caps(demo, drifts):
    reading = drifts[DRIFTING]
    assert DRIFTING == EAST
    assert -0.95 < reading.change.value < -0.55
    assert reading.slope_per_week.high < 0
    assert not reading.wear.welds_left
    # It began about three weeks ago, long after the caps were fitted.
    assert demo.bench(EAST).fitted_at < NOW - timedelta(weeks=9)
    found = [signal for signal in reading.signals if signal.rule is Rule.AVERAGE]
    began = reading.points["made_at"][found[0].first]
    assert timedelta(days=7) < NOW - began < timedelta(days=23)
    for name in (NORTH, SOUTH):
        assert drifts[name].limits is not None
        assert abs(drifts[name].change.value) < 0.4


def test_the_drift_is_not_what_stack_and_setting_explain(demo):
    """The raw sizes of each stack of the machine fall by as much, at the same setting."""
    sizes = {}
    for each in demo.iter_coupons():
        if each.coupon.machine == EAST and each.verdict.outcome is Outcome.PASS:
            newest = NOW - each.coupon.made_at < timedelta(days=8)
            oldest = NOW - each.coupon.made_at > timedelta(days=24)
            if newest or oldest:
                key = each.coupon.stack.title(), newest
                sizes.setdefault(key, []).append(each.coupon.results[0].size_mm)
    for title in {title for title, _ in sizes}:
        then, now = sizes[title, False], sizes[title, True]
        assert sum(now) / len(now) < sum(then) / len(then) - 0.4


def test_wear_of_one_machine_gives_an_interval_for_dressing(drifts):
    wear = drifts[SOUTH].wear
    assert 150 <= wear.dressing_interval <= 250
    assert 100 <= wear.welds_left.value <= 250
    assert isfinite(wear.welds_left.high)
    assert wear.slope.high < 0
    assert drifts[NORTH].wear.slope.high > 0
    assert "No wear seen" in drifts[NORTH].wear.sentences[0]
    # It drifts: coupons from before that vouch for no count.
    assert drifts[EAST].wear.dressing_interval is None
    assert "no count of welds is vouched for" in drifts[EAST].wear.refusal


def test_caps_of_one_machine_are_overdue_by_the_shop_s_rule(demo):
    assert demo.rules().dress_after_welds == 200
    found = dressing(demo, all_drift(demo))
    assert [name for name, each in found.items() if each.is_overdue] == [NORTH]
    assert "over 200 by the shop's rule" in found[NORTH].words
    assert all(each.welds and each.limit for each in found.values())


def test_most_coupons_carry_a_count_and_caps_are_dressed_every_few_days(demo):
    found = [each.coupon for each in demo.iter_coupons()]
    counted = [c for c in found if c.welds_since_dressing is not None]
    assert 0.8 < len(counted) / len(found) < 1
    for machine in demo.machines():
        done = sorted(event.at for event in demo.events(machine.name, 100))
        gaps = [later - sooner for sooner, later in pairwise([*done, NOW])]
        assert max(gaps) <= WEEK
        # A count grows from dressing to dressing, and begins anew with each.
        mine = [c for c in counted if c.machine == machine.name]
        for before, after in pairwise(sorted(mine, key=lambda c: c.made_at)):
            dressed = any(before.made_at < at <= after.made_at for at in done)
            grew = after.welds_since_dressing >= before.welds_since_dressing
            assert grew or dressed


# --- welders ------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", [EVERYTHING, RELEASES], ids=["all", "release"])
def test_one_welder_is_below_the_target_and_few_coupons_neither_lead_nor_trail(demo, which):
    found = read_groups(demo.pass_counts("welder", which))
    assert [each.name for each in found if each.standing is Standing.BELOW] == [PIET]
    assert found[0].name == PIET
    assert found[0].raw.judged >= 30
    few = {each.name: each for each in found if each.raw.judged <= 2}
    assert sorted((each.passed, each.raw.judged) for each in few.values()) == [(0, 1), (2, 2)]
    assert all(each.standing is Standing.UNSURE for each in few.values())
    assert found[-1].standing is Standing.ABOVE
    assert found[-1].name not in few
    assert all(
        each.standing is not Standing.BELOW
        for each in read_groups(demo.pass_counts("machine", which))
    )


@pytest.mark.parametrize("which", [EVERYTHING, RELEASES], ids=["all", "release"])
def test_hard_work_makes_a_good_welder_look_worse(demo, which):
    found = compare(demo.strata(NOOR, ILKA, which), NOOR, ILKA)
    assert found.naive_rate_a < found.naive_rate_b - 0.05
    assert found.naive_p < 0.05
    assert found.p > 0.2
    assert found.strata >= 2
    assert min(found.usable_a, found.usable_b) >= 10


def test_one_welder_gets_most_of_the_three_sheet_stacks(demo):
    three = Counter(
        each.coupon.welder for each in demo.iter_coupons() if len(each.coupon.stack.sheets) == 3
    )
    assert three[NOOR] > 0.6 * three.total()
    assert set(three) > {NOOR}


def test_coupons_of_every_purpose_are_there(demo):
    counts = demo.pass_counts("purpose", EVERYTHING).set_index("name")
    judged = counts["passed"] + counts["failed"]
    assert set(counts.index) == {each.label for each in Purpose}
    assert judged[Purpose.RELEASE.label] > 250
    assert judged.min() >= 10


# --- failures and honesty -----------------------------------------------------------------------


def test_few_causes_make_up_most_failures_with_a_clear_first(demo):
    found = demo.failures(EVERYTHING)
    table = pareto(found.causes, found.failed)
    assert len(table) >= 5
    assert table["cause"][0] == "weld too small"
    assert table["count"][0] > 1.5 * table["count"][1]
    assert found.expelled >= 8
    assert 0.05 < found.failed / found.judged < 0.2


def test_the_newest_coupons_of_two_machines_were_foretold_and_honestly(demo):
    every = demo.foretold_sums("sound")
    assert every.count >= 60
    for machine in (NORTH, SOUTH):
        sums = demo.foretold_sums("sound", machine)
        assert sums.count >= 25
        assert honesty_of_sums(sums, hoped_for=True).reading == AS_SAID
    assert demo.foretold_sums("sound", EAST).count == 0
    assert honesty_of_sums(demo.foretold_sums("expulsion")).reading == AS_SAID


# --- joints and evidence ------------------------------------------------------------------------


def test_joints_show_covered_and_missing(demo):
    states = {name: state.coverage.state for name, state in joints(demo).items()}
    assert states == {
        "Sill flange, outer": CoverState.COVERED,
        "Centre pillar to sill, after cure": CoverState.MISSING,
        "Centre pillar to sill": CoverState.MISSING,
        "Quarter panel, wheel arch": CoverState.COVERED,
        "Rear sill, three sheets": CoverState.MISSING,
        "Floor seam": CoverState.COVERED,
        "Quarter panel, lower": CoverState.COVERED,
        "Centre pillar, upper": CoverState.COVERED,
        "Rear panel, three sheets": CoverState.MISSING,
        "Front fender, lower": CoverState.COVERED,
    }


def test_the_joint_met_first_wants_one_more_coupon(demo):
    newest = demo.joint_states(now=NOW)[-1]
    assert newest.stored.joint.name == "Centre pillar to sill"
    assert newest.coverage.headline == BONDED_MISSING
    assert (newest.coverage.passes, newest.coverage.wanted) == (1, 2)


def test_a_cured_joint_is_never_covered_and_gets_no_setting(demo):
    cured = [
        state.coverage
        for state in joints(demo).values()
        if state.stored.joint.stack.adhesive_state is AdhesiveState.CURED
    ]
    assert cured
    assert all(each.headline == BONDED_MISSING and each.setting is None for each in cured)


def test_releases_of_three_weeks_one_of_which_no_longer_stands(demo):
    weeks = [
        demo.releases_between(MONDAY - n * WEEK, MONDAY - n * WEEK + WEEK, NOW) for n in (2, 1, 0)
    ]
    assert [[each.joint.job for each in week] for week in weeks] == [
        ["D-1022"],
        ["D-1031"],
        ["D-1036"],
    ]
    (first,), (lost,), (newest,) = weeks
    assert first.stands
    assert newest.stands
    assert not lost.stands
    assert "was voided" in lost.reopened[0]


def test_a_joint_is_released_by_who_welded_its_coupons(demo):
    for each in demo.releases_between(MONDAY - 3 * WEEK, NOW, NOW):
        evidence = [demo.coupon(one.number) for one in each.release.evidence]
        assert {one.coupon.welder for one in evidence} == {each.release.by}
        assert all(one.coupon.made_at < each.release.at for one in evidence)
        assert all(one.coupon.job == each.joint.job for one in evidence)


def test_a_coupon_was_voided_this_week_and_a_release_stood_on_it(demo):
    (voided,) = demo.voided_between(MONDAY, NOW)
    assert voided.why
    assert voided.at < NOW
    assert voided.releases == ("D-1031 · Rear panel, three sheets",)


def test_the_coverage_of_one_joint_ends_soon(demo):
    (soon,) = expiring(demo.waiting(NOW), NOW)
    assert soon.stored.joint.job == "D-1013"
    assert NOW < soon.ends_at <= NOW + SOON


def test_there_is_advice_for_coupons_of_every_joint(demo):
    rules = demo.rules()
    for state in joints(demo).values():
        joint = state.stored.joint
        coupons = demo.coupons_for_learning(joint.machine)
        machine, bench = demo.machine(joint.machine), demo.bench(joint.machine)
        model = MachineModel(rules).fit(coupons)
        advice = Advice(model, joint.stack, machine, bench.electrode, rules, coupons)
        machine.check(advice.suggestion.setting)
        chance = advice.expected(advice.suggestion.setting).chance_sound
        # Nobody has welded through cured adhesive yet, and the advice knows it.
        is_cured = joint.stack.adhesive_state is AdhesiveState.CURED
        assert chance < 0.8 if is_cured else chance > 0.85
