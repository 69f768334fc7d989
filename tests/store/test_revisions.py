"""A correction or a void: what it may do, what it leaves alone, and which revision counts."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from store_examples import FAILING, NOW, PASSING

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.coupons.verdict import Outcome
from advisor.errors import LimitError, RecordError
from advisor.store.schema import coupon_revision
from advisor.weld.machine import Machine
from advisor.weld.sheet import Sheet
from advisor.weld.size import SizeRule
from advisor.weld.stack import Stack

WEAKER = Machine("gun 1", 9.0, 5.0)
STRICTER = ShopRules(JudgingRules(SizeRule(k=5.0)))


def revisions(log):
    with log._reading() as connection:
        return connection.execute(select(coupon_revision).order_by(coupon_revision.c.id)).all()


def test_a_coupon_can_be_voided_on_a_machine_that_is_weaker_now(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.save_machine(WEAKER, "Lead")
    voided = log.void_coupon(number, "Lead", "wrong sheet", NOW)
    assert (voided.coupon, voided.voided) == (PASSING, "wrong sheet")


def test_a_void_keeps_the_verdict_and_the_rules_it_was_given_by(log):
    first = log.add_coupon(PASSING, "Kim", NOW)
    log.save_rules(STRICTER, "Lead")
    voided = log.void_coupon(first.number, "Lead", "wrong sheet", NOW)
    assert voided.verdict == first.verdict
    assert len({row.rules_id for row in revisions(log)}) == 1


def test_a_correction_is_judged_by_the_rules_that_hold_now(log):
    number = log.add_coupon(FAILING, "Kim", NOW).number
    log.save_rules(STRICTER, "Lead")
    corrected = log.correct_coupon(number, PASSING, "Lead", "misread caliper", NOW)
    assert corrected.verdict.outcome is Outcome.FAIL
    assert len({row.rules_id for row in revisions(log)}) == 2


def test_a_reading_can_be_put_right_on_a_machine_that_is_weaker_now(log):
    number = log.add_coupon(FAILING, "Kim", NOW).number
    log.save_machine(WEAKER, "Lead")
    assert log.correct_coupon(number, PASSING, "Lead", "misread", NOW).coupon == PASSING
    stronger = replace(PASSING, setting=replace(PASSING.setting, current_kA=9.6))
    with pytest.raises(LimitError, match=r"weld current is 9\.6 kA; gun 1 gives 2 to 9 kA"):
        log.correct_coupon(number, stronger, "Lead", "misread", NOW)


def test_a_voided_coupon_stays_voided(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.void_coupon(number, "Lead", "wrong sheet", NOW)
    with pytest.raises(RecordError, match=r"#1 is voided \(wrong sheet\) and stays so; log it"):
        log.correct_coupon(number, PASSING, "Lead", "on second thoughts", NOW)
    with pytest.raises(RecordError, match=r"#1 is voided \(wrong sheet\) and stays so"):
        log.void_coupon(number, "Lead", "again", NOW)
    assert [r.logged.voided for r in log.history(number)] == ["", "wrong sheet"]


def test_a_revision_says_who_when_and_why_and_keeps_the_first(log):
    number = log.add_coupon(FAILING, "Kim", NOW).number
    later = NOW + timedelta(hours=3)
    log.correct_coupon(number, PASSING, " Lead ", " misread ", later)
    assert [(r.by, r.at, r.why) for r in log.history(number)] == [
        ("Kim", NOW, ""),
        ("Lead", later, "misread"),
    ]


def test_a_refused_correction_leaves_the_coupon_as_it_was(log):
    before = log.add_coupon(FAILING, "Kim", NOW)
    log.save_machine(WEAKER, "Lead")
    too_strong = replace(PASSING, setting=replace(PASSING.setting, current_kA=39.0))
    with pytest.raises(LimitError, match="weld current is 39 kA"):
        log.correct_coupon(before.number, too_strong, "Lead", "misread", NOW)
    assert log.coupon(before.number) == before
    assert len(log.history(before.number)) == 1


def test_only_the_newest_revision_is_read_and_counted(log):
    elsewhere = replace(FAILING, machine="gun 2", welder="Robin, junior", job="RO 1")
    number = log.add_coupon(elsewhere, "Kim", NOW).number
    log.correct_coupon(number, PASSING, "Lead", "wrong gun", NOW)
    assert log.coupons_for_learning("gun 2") == []
    assert [c.coupon for c in log.coupons_for_learning("gun 1")] == [PASSING]
    assert log.recent_coupons(machine_name="gun 2") == log.recent_coupons(job="RO 1") == []
    assert list(log.pass_counts("machine")["name"]) == ["gun 1"]
    assert list(log.pass_counts("welder")["passed"]) == [1]


def test_a_hint_of_welds_leaves_out_a_coupon_moved_to_another_machine(log):
    dressed = PASSING.made_at - timedelta(hours=1)
    assert log.welds_since_dressing_hint("gun 2") is None
    for name in ("gun 1", "gun 2"):
        log.dress(name, dressed, "Kim")
    log.add_coupon(replace(PASSING, made_at=dressed - timedelta(minutes=1)), "Kim", NOW)
    number = log.add_coupon(replace(PASSING, machine="gun 2"), "Kim", NOW).number
    assert log.welds_since_dressing_hint("gun 2") == 1
    log.correct_coupon(number, PASSING, "Lead", "wrong gun", NOW)
    assert log.welds_since_dressing_hint("gun 2") == 0
    assert log.welds_since_dressing_hint("gun 1") == 1


def test_results_stay_with_their_interface_whichever_way_up(log):
    three = replace(
        PASSING,
        stack=Stack((Sheet(1.2), Sheet(1.5), Sheet(1.0))),
        results=(InterfaceResult(4.6, 5.0), InterfaceResult(5.4, 5.8)),
    )
    for made in (three, three.turned_over()):
        assert log.add_coupon(made, "Kim", NOW).coupon == made


def test_reasons_are_kept_as_json_text(log):
    logged = log.add_coupon(FAILING, "Kim", NOW)
    kept = json.loads(revisions(log)[0].reasons)
    assert kept == [[r.outcome.value, r.text] for r in logged.verdict.reasons]


def test_each_revision_keeps_the_rules_it_was_judged_by(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    old = log.rules()
    new = replace(old, judging=replace(old.judging, size=replace(old.judging.size, k=5.0)))
    log.save_rules(new, "Lead")
    log.correct_coupon(number, PASSING, "Lead", "looked again", NOW)
    assert [each.rules for each in log.history(number)] == [old, new]
