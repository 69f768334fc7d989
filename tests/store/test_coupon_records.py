"""Coupons in the log: equal when read back, revised but never changed, all or nothing."""

from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from store_examples import FAILING, NOW, PASSING, fill
from strategies import coupons

from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.coupons.verdict import Outcome, judge
from advisor.errors import InputError, LimitError, RecordError
from advisor.store.coupon_records import UNDO
from advisor.store.log import open_log
from advisor.store.reviewing import Which
from advisor.weld.machine import Machine
from advisor.weld.size import SizeRule


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(coupons())
def test_a_coupon_reads_back_equal_with_its_verdict(log, coupon):
    logged = log.add_coupon(coupon, "Kim", NOW)
    assert logged.coupon == coupon
    assert logged.verdict == judge(coupon, log.rules().judging)
    assert log.coupon(logged.number) == logged


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(coupons(), min_size=1, max_size=8))
def test_an_import_reads_back_equal_and_in_order(log, made):
    numbers = log.import_coupons(made, "Kim", NOW)
    assert [log.coupon(n).coupon for n in numbers] == made
    assert [c.coupon for c in log.iter_coupons(at_once=3)][-len(made) :] == made


def test_a_correction_is_a_new_revision_and_the_first_entry_stays(log):
    number = log.add_coupon(FAILING, "Kim", NOW).number
    log.correct_coupon(number, PASSING, "Lead", "misread caliper", NOW)
    first, second = log.history(number)
    assert (first.logged.coupon, second.logged.coupon) == (FAILING, PASSING)
    assert (second.by, second.why, second.logged.revision) == ("Lead", "misread caliper", 2)
    assert log.coupon(number).verdict.outcome is Outcome.PASS


def test_a_void_keeps_the_row_and_no_longer_counts(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.void_coupon(number, "Lead", "wrong sheet", NOW)
    assert log.coupon(number).voided == "wrong sheet"
    assert log.coupon(number).coupon == PASSING
    assert log.coupons_for_learning("gun 1") == []
    assert log.pass_counts("welder").empty
    assert [c.number for c in log.recent_coupons()] == [number]


def test_who_logged_the_newest_coupon_can_take_it_back_and_its_row_stays(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.undo_coupon(number, "Kim", NOW + UNDO)
    assert log.coupon(number).voided == "undone by Kim right after logging it"
    assert [each.logged.revision for each in log.history(number)] == [1, 2]
    assert log.pass_counts("welder").empty


def test_nothing_else_is_undone(log):
    first = log.add_coupon(PASSING, "Kim", NOW).number
    last = log.add_coupon(PASSING, "Kim", NOW).number
    for number, who, at in (
        (first, "Kim", NOW),
        (last, "Lead", NOW),
        (last, "Kim", NOW + UNDO + timedelta(seconds=1)),
    ):
        with pytest.raises(RecordError, match="cannot be undone: only whoever logged the newest"):
            log.undo_coupon(number, who, at)
    log.correct_coupon(last, FAILING, "Kim", "misread", NOW)
    with pytest.raises(RecordError, match="ask a lead to void it"):
        log.undo_coupon(last, "Kim", NOW)
    assert [log.coupon(number).voided for number in (first, last)] == ["", ""]


def test_a_revision_needs_a_reason_and_a_name(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    with pytest.raises(InputError, match="needs its reason in a few words"):
        log.void_coupon(number, "Lead", "  ")
    with pytest.raises(InputError, match="choose your name at the top"):
        log.void_coupon(number, " ", "wrong sheet")
    with pytest.raises(RecordError, match="there is no coupon #99"):
        log.void_coupon(99, "Lead", "wrong sheet")


@pytest.mark.parametrize("table", ["coupon", "coupon_revision", "interface_result", "rules"])
@pytest.mark.parametrize("verb", ["UPDATE {} SET shop_id = shop_id", "DELETE FROM {}"])
def test_the_database_itself_refuses_changes(log, table, verb):
    log.add_coupon(PASSING, "Kim", NOW)
    with (
        pytest.raises(DBAPIError, match=f"{table} is never changed or deleted"),
        log._engine.begin() as connection,
    ):
        connection.execute(text(verb.format(table)))


def test_an_import_with_one_bad_coupon_keeps_none(log):
    future = replace(PASSING, made_at=NOW + timedelta(days=1))
    with pytest.raises(InputError, match=r"coupon 2 of the file: .* which is in the future"):
        log.import_coupons([PASSING, future, PASSING], "Kim", NOW)
    with pytest.raises(InputError, match="no welder is called Nobody; add the name under Shop"):
        log.import_coupons([PASSING, replace(PASSING, welder="Nobody")], "Kim", NOW)
    assert list(log.iter_coupons()) == []


def test_the_same_file_twice_adds_nothing(log):
    made = [PASSING, replace(FAILING, notes="second")]
    assert log.import_coupons(made, "Kim", NOW) == [1, 2]
    assert log.import_coupons([*made, replace(PASSING, notes="new")], "Kim", NOW) == [3]
    assert log.import_coupons(made, "Kim", NOW) == []
    assert [c.origin for c in log.iter_coupons()] == ["imported"] * 3


def test_an_import_never_makes_a_second_pass_of_one_coupon_nor_revives_a_voided_one(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.void_coupon(number, "Lead", "wrong sheet", NOW)
    assert log.import_coupons([PASSING], "Kim", NOW) == []
    assert log.coupon(number).voided == "wrong sheet"
    assert log.coupon(number).origin == ""


def test_a_setting_beyond_the_machine_is_refused(log):
    log.save_machine(Machine("gun 1", 9.0, 3.5), "Lead")
    with pytest.raises(LimitError, match=r"weld current is 9\.5 kA; gun 1 gives 2 to 9 kA"):
        log.add_coupon(PASSING, "Kim", NOW)


def test_names_are_found_whatever_their_case(log):
    logged = log.add_coupon(replace(PASSING, welder="kim", machine="GUN  1"), "Kim", NOW)
    assert (logged.coupon.welder, logged.coupon.machine) == ("Kim", "gun 1")


def test_new_rules_judge_new_coupons_and_leave_old_verdicts(log):
    old = log.add_coupon(PASSING, "Kim", NOW)
    log.save_rules(ShopRules(JudgingRules(SizeRule(k=5.0))), "Lead")
    new = log.add_coupon(PASSING, "Kim", NOW)
    assert new.verdict.outcome is Outcome.FAIL
    assert log.coupon(old.number).verdict.outcome is Outcome.PASS
    assert log.rules().judging.size.k == 5.0


@settings(max_examples=5, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(made=st.lists(coupons(), min_size=1, max_size=25))
def test_pass_counts_equal_a_count_by_hand(url, made):
    log = fill(open_log(url, shop_name=f"shop {hash(tuple(made))}"))
    log.import_coupons(made, "Kim", NOW)
    by_hand = pd.DataFrame(
        {"name": c.coupon.welder, "outcome": c.verdict.outcome.value} for c in log.iter_coupons()
    )
    for row in log.pass_counts("welder").itertuples():
        mine = by_hand[by_hand["name"] == row.name]["outcome"]
        counts = [int((mine == o).sum()) for o in ("pass", "fail", "open")]
        assert [row.passed, row.failed, row.open] == counts
    log.close()


def test_pass_counts_of_a_period(log):
    log.add_coupon(PASSING, "Kim", NOW)
    day = PASSING.made_at.date()
    assert log.pass_counts("machine", Which(since=day + timedelta(days=1))).empty
    assert log.pass_counts("machine", Which(until=day)).empty
    assert log.pass_counts("machine", Which(since=day))["passed"].sum() == 1


def test_two_shops_in_one_database_do_not_see_each_other(url, log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    other = open_log(url, shop_name="The other shop")
    assert other.is_empty()
    fill(other)
    assert list(other.iter_coupons()) == []
    assert other.pass_counts("welder").empty
    with pytest.raises(RecordError, match=f"there is no coupon #{number}"):
        other.coupon(number)
    assert other.add_coupon(FAILING, "Kim", NOW).number == 1
    assert log.coupon(1).coupon == PASSING
    other.close()
