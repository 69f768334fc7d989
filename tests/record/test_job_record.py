"""The record keeps to one job, knows what holds a joint, and by which rules a coupon was judged."""

from dataclasses import replace
from datetime import datetime

import pytest
from record_makers import (
    CURED,
    GOOD,
    MAKER,
    NOW,
    RULES,
    SMALL,
    THREE,
    WET,
    entry,
    joint_entry,
    record,
)

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.rules import CoverageRules, JudgingRules, ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import InputError
from advisor.record import wording
from advisor.record.job_record import Printing
from advisor.record.rules_words import rules_version, rules_words
from advisor.weld.failure import FailureType
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import Stack

BUTTON = FailureType.BUTTON
STRICTER = ShopRules(JudgingRules(SizeRule(5.0)))


def test_only_what_the_job_touches_is_kept():
    made = record()
    assert [each.name for each in made.machines] == ["gun 1"]
    assert [each.name for each in made.adhesives] == ["Demo epoxy A"]
    assert [each.logged.number for each in made.coupons] == [11, 12, 13]


def test_a_joint_of_another_job_is_refused():
    other = joint_entry("sill", WET, GOOD)
    other = replace(other, joint=replace(other.joint, job="RO 8"))
    with pytest.raises(InputError, match="is of job RO 8, not of RO 7; a record holds one job"):
        record((other,))


def test_evidence_that_is_not_given_is_refused():
    with pytest.raises(InputError, match="stands on coupon #12, which the record was not given"):
        record(coupons=[entry(GOOD[0]), entry(SMALL)])


def test_a_record_needs_job_and_time_zone():
    with pytest.raises(InputError, match="the record has no job"):
        Printing("s", "p", " ", NOW, "Kim")
    with pytest.raises(InputError, match="the time of a record needs its time zone"):
        Printing("s", "p", "1", datetime(2026, 1, 1), "Kim")


def test_times_are_written_in_the_record_s_zone():
    printing = record().printing
    assert printing.zone == "UTC+02:00"
    assert printing.moment(GOOD[0].coupon.made_at) == "2026-06-03 10:00"


@pytest.mark.parametrize(
    ("joint", "state", "because"),
    [
        (joint_entry("a", WET, GOOD, released=True), "RELEASED", []),
        (joint_entry("a", WET, GOOD), "HELD", ["Covered, but nobody has released it."]),
        (joint_entry("a", WET, GOOD[:1]), "HELD", ["1 of 2 passing coupons in a row."]),
        (joint_entry("a", WET, ()), "HELD", ["0 of 2 passing coupons in a row."]),
    ],
)
def test_state_and_what_is_missing(joint, state, because):
    assert wording.state_words(joint) == state
    assert wording.held_words(joint) == because


def test_a_voided_coupon_opens_the_joint_again_with_the_reason():
    joint = joint_entry("a", WET, GOOD, released=True, voided="wrong sheet")
    assert wording.state_words(joint) == "HELD, OPEN AGAIN"
    assert wording.held_words(joint)[:2] == [
        "Coupon #12 was voided: wrong sheet.",
        "Coupon #11 was voided: wrong sheet.",
    ]
    assert "Setting: 9.4 kA" in wording.release_words(joint, record().printing)


def test_the_broken_condition_of_the_nearest_coupon_is_named():
    held = wording.held_words(joint_entry("a", CURED, GOOD))
    assert any("interface 1: Demo epoxy A, wet, not Demo epoxy A, cured" in each for each in held)


def test_cured_without_a_test_is_left_to_the_welder_maker():
    printing = record().printing
    told = wording.maker_words(joint_entry("a", CURED, GOOD, maker=MAKER), printing)
    assert told[0] == CURED_WITHOUT_TEST
    assert told[1] == (
        f"{wording.MAKERS_OWN}: 12 kA, 10 cycles (Manual of the machine, page 41; typed by Lee, "
        "2026-06-03 14:30)"
    )
    assert "Keep a fire watch" in told[-1]
    without = wording.maker_words(joint_entry("a", CURED, GOOD), printing)
    assert without[:-1] == [CURED_WITHOUT_TEST, wording.NO_RECOMMENDATION]
    assert "Keep a fire watch" in without[-1]
    assert wording.maker_words(joint_entry("a", WET, ()), printing) == []


def test_the_minimum_is_of_the_rules_the_verdict_was_made_by():
    (known,) = entry(GOOD[0]).interfaces(RULES)
    assert (known.mean_mm, known.minimum_mm, known.formula) == (4.5, 4.0, "4√1")
    (unknown,) = entry(GOOD[0]).interfaces(STRICTER)
    assert (unknown.mean_mm, unknown.minimum_mm, unknown.formula) == (4.5, None, "")
    assert "earlier rules" in wording.judged_words(entry(GOOD[0]), STRICTER)
    (named,) = entry(GOOD[0], rules=RULES).interfaces(STRICTER)
    assert named.minimum_mm == 4.0
    assert rules_version(RULES) in wording.judged_words(entry(GOOD[0], rules=RULES), STRICTER)


def test_rules_that_cannot_judge_the_coupon_were_not_the_ones():
    sheets, round_button = (*THREE.sheets, THREE.sheets[0]), InterfaceResult(4.5, 4.5, BUTTON)
    four = replace(SMALL.coupon, stack=Stack(sheets), results=(round_button,) * 3)
    logged = replace(SMALL, coupon=four, verdict=judge(four, RULES.judging))
    whole = ShopRules(JudgingRules(SizeRule(4.0, GoverningRule.WHOLE_STACK)))
    assert entry(logged).judged_by(RULES) == RULES
    assert entry(logged).judged_by(whole) is None


def test_every_version_of_the_rules_is_in_the_record_once():
    coupons = [entry(GOOD[0], rules=RULES), entry(GOOD[1], rules=RULES), entry(SMALL)]
    assert record(coupons=coupons, rules=STRICTER).rules_used() == (STRICTER, RULES)


def test_the_version_changes_with_any_rule_of_judging_or_coverage():
    changed = (RULES, STRICTER, replace(RULES, coverage=CoverageRules(passes_in_a_row=3)))
    assert len({rules_version(each) for each in changed}) == 3
    assert rules_version(ShopRules()) == rules_version(RULES)


def test_rules_name_standard_and_edition():
    told = " ".join(rules_words(STRICTER))
    for words in ("AWS D8.1M:2013, cl. 3", "ISO 10447:2015", "5√t", "from memory"):
        assert words in told


def test_checks_say_what_was_measured_and_what_nobody_looked_at():
    printing, joints = record().printing, record().joints
    told = wording.checks_words(joints[0], printing)
    assert told[0] == "ok: Grinding dust blown off. done (Lee, 2026-06-03 14:30)"
    assert told[1].startswith("NOT OK: Mating edges bevelled under 10°. 12 °, 2 ° more than")
    assert told[2].startswith("Not looked at: Bond faces ground")
    assert wording.checks_words(joints[2], printing) == []
