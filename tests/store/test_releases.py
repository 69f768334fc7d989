"""Releasing a joint: only when covered, frozen with its evidence, open again when that falls."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from store_examples import FAILING, NOW, PASSING

from advisor.coupons.joint import Joint
from advisor.errors import InputError, RecordError
from advisor.weld.stack import AdhesiveState, Bond

JOINT = Joint("sill", "RO 1", PASSING.stack, "gun 1")
RECENT = replace(PASSING, made_at=NOW - timedelta(hours=2), job="RO 1")


@pytest.fixture
def covered(log):
    log.fit_caps("gun 1", PASSING.electrode, NOW - timedelta(days=9), "Kim")
    number = log.save_joint(JOINT, "Kim")
    for _ in range(2):
        log.add_coupon(RECENT, "Kim", NOW)
    return number


def state(log):
    (found,) = log.joint_states("RO 1", NOW)
    return found


def test_a_release_keeps_setting_and_evidence(log, covered):
    release = log.release(covered, "Lead", "seen by me", NOW)
    assert release.setting == PASSING.setting
    assert [e.number for e in release.evidence] == [2, 1]
    assert state(log).release == release
    assert state(log).is_released


def test_an_uncovered_joint_is_not_released(log):
    log.fit_caps("gun 1", PASSING.electrode, NOW - timedelta(days=9), "Kim")
    bond = Bond("Epoxy", AdhesiveState.WET)
    wet = replace(JOINT, stack=replace(PASSING.stack, bonds=(bond,)))
    number = log.save_joint(wet, "Kim")
    for _ in range(2):
        log.add_coupon(RECENT, "Kim", NOW)
    with pytest.raises(RecordError, match="cannot be released: bonded-joint test missing"):
        log.release(number, "Lead", now=NOW)
    assert state(log).release is None


def test_a_release_needs_a_name(log, covered):
    with pytest.raises(InputError, match="choose your name at the top"):
        log.release(covered, " ", now=NOW)


def test_a_void_opens_the_joint_again(log, covered):
    log.release(covered, "Lead", now=NOW)
    log.void_coupon(1, "Lead", "wrong sheet", NOW)
    assert not state(log).is_released
    assert state(log).reopened == ("coupon #1 was voided: wrong sheet",)


def test_a_correction_to_a_fail_opens_the_joint_again(log, covered):
    log.release(covered, "Lead", now=NOW)
    log.correct_coupon(2, replace(RECENT, results=FAILING.results), "Lead", "misread", NOW)
    assert "coupon #2 was corrected and is now: fail" in state(log).reopened


def test_a_newer_failing_coupon_opens_the_joint_again(log, covered):
    log.release(covered, "Lead", now=NOW)
    log.add_coupon(replace(FAILING, made_at=NOW - timedelta(hours=1), job="RO 2"), "Kim", NOW)
    assert any("a matching coupon failed" in reason for reason in state(log).reopened)


def test_growing_old_does_not_open_a_released_joint(log, covered):
    log.release(covered, "Lead", now=NOW)
    (later,) = log.joint_states("RO 1", NOW + timedelta(days=50))
    assert later.is_released


def test_the_database_refuses_to_change_a_release(log, covered):
    log.release(covered, "Lead", now=NOW)
    with (
        pytest.raises(DBAPIError, match="release is never changed or deleted"),
        log._engine.begin() as connection,
    ):
        connection.execute(text("DELETE FROM release"))


def test_a_released_joint_is_not_changed(log, covered):
    log.save_joint(replace(JOINT, welds=9), "Kim", covered)
    log.release(covered, "Lead", now=NOW)
    with pytest.raises(RecordError, match="joint sill was released as it stands; enter what"):
        log.save_joint(replace(JOINT, welds=8), "Kim", covered)
    assert state(log).stored.joint.welds == 9
