"""Checks, the maker's recommendations and usual joints: read back equal, never lost."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from store_examples import NOW, PASSING

from advisor.bonding.preparation import Answer
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.errors import InputError, RecordError
from advisor.weld.stack import AdhesiveState, Bond

CURED = replace(PASSING.stack, bonds=(Bond("Epoxy", AdhesiveState.CURED),))
JOINT = Joint("sill", "RO 1", CURED, "gun 1", None, 12, 40.0)
MAKER = MakerRecommendation("gun 1", CURED, "Handbook 7", "31", "program 4, 9.0 kA", "Kim", NOW)


@pytest.fixture
def joint_id(log):
    return log.save_joint(JOINT, "Kim")


def test_answers_to_checks_pile_up(log, joint_id):
    first = log.add_check(joint_id, "backer_width", Answer.DONE, 46.0, "Kim", NOW)
    second = log.add_check(
        joint_id, "backer_width", Answer.DONE, 51.0, "Kim", NOW + timedelta(minutes=5)
    )
    assert log.checks(joint_id) == (first, second)


def test_a_check_of_an_unknown_joint_or_without_a_name_is_refused(log, joint_id):
    with pytest.raises(RecordError, match="no joint has the number 99"):
        log.add_check(99, "dust_off", Answer.DONE, None, "Kim")
    with pytest.raises(InputError, match="choose your name at the top"):
        log.add_check(joint_id, "dust_off", Answer.DONE, None, " ")
    assert log.checks(joint_id) == ()


def test_the_newest_recommendation_for_machine_and_stack_counts(log):
    log.add_recommendation(MAKER)
    assert log.recommendation("gun 1", CURED) == MAKER
    newer = replace(MAKER, page="32", at=NOW + timedelta(days=1))
    log.add_recommendation(newer)
    assert log.recommendation("gun 1", CURED.turned_over()).page == "32"
    wet = replace(CURED, bonds=(Bond("Epoxy", AdhesiveState.WET),))
    assert log.recommendation("gun 1", wet) is None
    assert log.recommendation("gun 2", CURED) is None


@pytest.mark.parametrize("name", ["document", "page", "settings"])
def test_a_recommendation_nobody_can_look_up_is_refused(name):
    with pytest.raises(InputError, match=f"recommendation has no {name}; give document, page"):
        replace(MAKER, **{name: " "})


@pytest.mark.parametrize("table", ["preparation_check", "maker_recommendation"])
@pytest.mark.parametrize("change", ["DELETE FROM {}", "UPDATE {} SET recorded_by = 'x'"])
def test_the_database_refuses_to_change_them(log, joint_id, table, change):
    log.add_check(joint_id, "dust_off", Answer.DONE, None, "Kim", NOW)
    log.add_recommendation(MAKER)
    with (
        pytest.raises(DBAPIError, match=f"{table} is never changed or deleted"),
        log._engine.begin() as connection,
    ):
        connection.execute(text(change.format(table)))


def test_a_usual_joint_comes_back_as_it_was_but_for_its_job(log):
    log.save_template("Sill, cured", replace(JOINT, stack=CURED.turned_over()), "Kim")
    (found,) = log.templates().values()
    assert found == replace(
        JOINT, name="Sill, cured", job="usual", stack=CURED.turned_over(), setting=None
    )


def test_a_usual_joint_is_replaced_by_its_name_and_dropped_by_it(log):
    log.save_template("Sill", JOINT, "Kim")
    log.save_template(" SILL", replace(JOINT, welds=9), "Kim")
    assert [each.welds for each in log.templates().values()] == [9]
    log.drop_template("sill", "Kim")
    assert log.templates() == {}
    with pytest.raises(InputError, match="usual joint has no name"):
        log.save_template(" ", JOINT, "Kim")


def test_names_of_joints_are_those_of_open_jobs(log, joint_id):
    log.save_joint(replace(JOINT, job="RO 2", name="roof"), "Kim")
    assert log.joint_names() == {joint_id: "RO 1 · sill", joint_id + 1: "RO 2 · roof"}
    log.close_job("RO 1", "Kim")
    assert log.joint_names() == {joint_id + 1: "RO 2 · roof"}
