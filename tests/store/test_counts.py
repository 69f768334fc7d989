"""What the database counts and chooses, against the same done by hand over every coupon."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from store_examples import FAILING, NOW, PASSING
from strategies import coupons

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.joint import Joint
from advisor.store import coupon_reading
from advisor.store.reviewing import Which
from advisor.weld.failure import TestType
from advisor.weld.sheet import Sheet
from advisor.weld.stack import AdhesiveState, Bond, Stack

OPEN = replace(PASSING, results=(InterfaceResult(),))
WET = Stack(PASSING.stack.sheets, (Bond("Demo epoxy A", AdhesiveState.WET),))
KEYS = {
    "welder": lambda c: c.welder,
    "machine": lambda c: c.machine,
    "adhesive_state": lambda c: c.stack.adhesive_state.value,
    "stack": lambda c: c.stack.canonical().title(),
}


def by_hand(log, group):
    """Count without the database: a dict of name to (passed, failed, open)."""
    rows = pd.DataFrame(
        {
            "name": KEYS[group](each.coupon),
            "outcome": each.verdict.outcome.value,
        }
        for each in log.iter_coupons()
        if not each.voided
    )
    return {
        name: tuple((part["outcome"] == o).sum() for o in ("pass", "fail", "open"))
        for name, part in rows.groupby("name")
    }


@pytest.fixture
def mixed(log):
    """A log of both machines, stacks either way up, every outcome, one void, one correction."""
    kinds = product(
        (PASSING, FAILING, OPEN),
        ("Kim", "Robin, junior"),
        ("gun 1", "gun 2"),
        (PASSING.stack, PASSING.stack.turned_over(), WET),
    )
    made = [
        replace(
            each,
            welder=who,
            machine=gun,
            stack=laid,
            made_at=PASSING.made_at - timedelta(hours=n * n % 37),
        )
        for n, (each, who, gun, laid) in enumerate(kinds)
        if n % 5
    ]
    log.import_coupons(made, "Kim", NOW)
    log.void_coupon(1, "Lead", "wrong sheet", NOW)
    log.correct_coupon(len(made), replace(PASSING, welder="Kim"), "Lead", "misread", NOW)
    return log


@pytest.mark.parametrize("group", KEYS)
def test_every_grouping_equals_a_count_by_hand(mixed, group):
    found = mixed.pass_counts(group)
    assert list(found.columns) == ["name", "passed", "failed", "open"]
    assert {row[0]: tuple(row[1:]) for row in found.itertuples(index=False)} == by_hand(
        mixed, group
    )


def test_counts_of_one_machine_and_one_welder(log):
    log.import_coupons(
        [PASSING, FAILING, replace(PASSING, machine="gun 2"), replace(FAILING, welder="Kim")],
        "Kim",
        NOW,
    )
    log.add_coupon(replace(OPEN, welder="Robin, junior"), "Kim", NOW)
    found = log.pass_counts("welder", Which(machine="GUN 1", welder="kim"))
    assert found[["name", "passed", "failed", "open"]].to_numpy().tolist() == [["Kim", 1, 2, 0]]
    assert log.pass_counts("machine", Which(welder="nobody")).empty


def test_the_log_counts_its_coupons(log):
    assert log.counts() == {"coupons": 0, "open": 0}
    log.import_coupons([PASSING, OPEN, OPEN, FAILING], "Kim", NOW)
    log.void_coupon(2, "Lead", "twice", NOW)
    assert log.counts() == {"coupons": 3, "open": 1}


def test_recent_coupons_come_newest_first_and_can_be_narrowed(log):
    made = [replace(PASSING, made_at=PASSING.made_at - timedelta(days=d)) for d in (2, 0, 1)]
    made[0] = replace(made[0], welder="Robin, junior", job="RO 1")
    log.import_coupons(made, "Kim", NOW)
    assert [c.number for c in log.recent_coupons()] == [2, 3, 1]
    assert [c.number for c in log.recent_coupons(2)] == [2, 3]
    assert [c.number for c in log.recent_coupons(welder_name="ROBIN,  junior")] == [1]
    assert [c.number for c in log.recent_coupons(job="RO 1")] == [1]


def test_newest_revisions_follow_every_change_of_the_machine_s_coupons_and_no_other(log):
    log.import_coupons([PASSING, FAILING, replace(PASSING, machine="gun 2")], "Kim", NOW)
    seen = [log.newest_revisions("GUN 1", 9)]

    def changed():
        seen.append(log.newest_revisions("gun 1", 9))
        return seen[-1] not in seen[:-1]

    log.add_coupon(replace(PASSING, machine="gun 2", test=TestType.CHISEL), "Kim", NOW)
    assert not changed()
    log.add_coupon(OPEN, "Kim", NOW)
    assert changed()
    log.correct_coupon(2, PASSING, "Lead", "misread", NOW)
    assert changed()
    log.void_coupon(2, "Lead", "twice", NOW)
    assert changed()
    log.correct_coupon(1, replace(PASSING, machine="gun 2"), "Lead", "wrong gun", NOW)
    assert changed()
    log.correct_coupon(3, replace(PASSING, notes="moved"), "Lead", "wrong gun", NOW)
    assert changed()


def test_newest_revisions_are_those_of_the_recent_coupons(log):
    made = [replace(PASSING, made_at=PASSING.made_at - timedelta(days=d)) for d in (2, 0, 1)]
    log.import_coupons(made, "Kim", NOW)
    assert log.newest_revisions("gun 2", 9) == ()
    # Imported in one go, coupons 1, 2 and 3 have revisions 1, 2 and 3.
    assert [c.number for c in log.recent_coupons(2, machine_name="gun 1")] == [2, 3]
    assert log.newest_revisions("gun 1", 2) == (2, 3)


def joint_of(stack):
    return Joint("sill", "RO 1", stack, "Gun 1")


def test_a_joint_gets_its_job_and_the_last_sixty_days(log):
    def at(days, **changes):
        return replace(PASSING, made_at=NOW - timedelta(days=days), **changes)

    three = Stack((Sheet(1.2), Sheet(1.5), Sheet(1.0)))
    made = [
        at(59),
        at(61),
        at(61, job="RO 1"),
        at(1, stack=three, results=()),
        at(1, stack=three, results=(), job="RO 1"),
        at(1, stack=PASSING.stack.turned_over(), machine="gun 2"),
    ]
    log.import_coupons(made, "Kim", NOW)
    found = log.coupons_for_joint(joint_of(PASSING.stack), NOW)
    assert sorted(c.number for c in found) == [1, 3, 5, 6]


def test_other_coupons_never_crowd_out_those_that_can_cover_the_joint(log, monkeypatch):
    monkeypatch.setattr(coupon_reading, "MOST_NEAR", 1)
    monkeypatch.setattr(coupon_reading, "MOST_ALIKE", 2)
    mine = replace(PASSING, stack=WET, job="RO 1", made_at=NOW - timedelta(days=9))
    others = [replace(PASSING, made_at=NOW - timedelta(days=d)) for d in range(1, 6)]
    log.import_coupons([mine, replace(mine, stack=WET.turned_over()), *others], "Kim", NOW)
    found = [c.number for c in log.coupons_for_joint(joint_of(WET), NOW)]
    assert found == [2, 1, 3]


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(coupons(), min_size=1, max_size=7), st.integers(1, 8))
def test_walking_all_coupons_misses_none_whatever_the_step(log, made, at_once):
    log.import_coupons(made, "Kim", NOW)
    numbers = [c.number for c in log.iter_coupons(at_once)]
    assert numbers == list(range(1, log.counts()["coupons"] + 1))


def test_a_planned_setting_is_found_behind_many_coupons_at_other_settings(log):
    proven = replace(PASSING, made_at=NOW - timedelta(days=9))
    other = replace(PASSING.setting, current_kA=PASSING.setting.current_kA + 0.5)
    later = [
        replace(PASSING, setting=other, made_at=NOW - timedelta(days=8) + timedelta(minutes=n))
        for n in range(coupon_reading.MOST_ALIKE + 5)
    ]
    log.import_coupons([proven, *later], "Kim", NOW)
    planned = replace(joint_of(PASSING.stack), setting=PASSING.setting)
    assert 1 in [c.number for c in log.coupons_for_joint(planned, NOW)]
    assert 1 not in [c.number for c in log.coupons_for_joint(joint_of(PASSING.stack), NOW)]


def test_the_newest_coupon_of_a_stack_on_a_machine(log):
    made = [replace(PASSING, made_at=PASSING.made_at - timedelta(days=d)) for d in (2, 1, 3)]
    log.import_coupons([*made, replace(PASSING, machine="gun 2")], "Kim", NOW)
    assert log.newest_of(PASSING.stack.turned_over(), "GUN 1").number == 2
    log.void_coupon(2, "Lead", "twice", NOW)
    assert log.newest_of(PASSING.stack, "gun 1").number == 1
    assert log.newest_of(WET, "gun 1") is None
