"""The part that makes the record: from the log, when asked, and then offered as files."""

import json
from datetime import UTC, datetime

import pytest
from page_helpers import EPOXY, press, stack, told
from streamlit.testing.v1 import AppTest

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.pages.parts.record import MAKE, gather
from advisor.record.files import to_json
from advisor.record.pdf import job_pdf
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

SCRIPT = """
from advisor.pages.parts import record
from advisor.pages.session import current
record.show(current(), "RO-1")
"""
WET = stack(1.2, 1.0, state=AdhesiveState.WET)
CURED = stack(1.2, 1.0, state=AdhesiveState.CURED)


def add(log, job="RO-1", welded=WET):
    made = Coupon(
        datetime.now(UTC),
        "Sam",
        "Bay gun",
        Electrode(CapShape.DOME, 6),
        welded,
        Setting(9.0, 200.0, 3.0),
        (InterfaceResult(4.4, 4.8, FailureType.BUTTON),),
        job=job,
    )
    return log.add_coupon(made, "Sam").number


def opened():
    app = AppTest.from_string(SCRIPT, default_timeout=30).run()
    assert not app.exception
    return app


def offered(app):
    return [each.proto.label for each in app.get("download_button")]


def test_nothing_is_made_before_it_is_asked_for(wet_joint):
    assert offered(opened()) == []


def test_it_asks_whose_record_it_is(wet_joint):
    app = opened()
    press(app, MAKE)
    assert any("Give the shop's name first" in text for text in told(app))
    assert offered(app) == []


def test_it_offers_the_files_and_remembers_the_shop(wet_joint):
    add(wet_joint)
    app = opened()
    app.text_input(key="record_shop").set_value("Corner shop")
    app.text_input(key="record_place").set_value("Testford")
    press(app, MAKE)
    assert offered(app) == [
        "Record as PDF",
        "Record as JSON",
        "Coupons as CSV",
        "1 coupon labels as PDF",
    ]
    assert opened().text_input(key="record_shop").value == "Corner shop"


def test_a_job_without_coupons_needs_no_labels(wet_joint):
    app = opened()
    app.text_input(key="record_shop").set_value("Corner shop")
    press(app, MAKE)
    assert offered(app) == ["Record as PDF", "Record as JSON", "Coupons as CSV"]


@pytest.fixture
def made(wet_joint):
    """The record of a job with a released, and a cured joint, and a coupon of another job."""
    log = wet_joint
    log.save_joint(Joint("pillar", "RO-1", CURED, "Bay gun"), "Sam")
    now = datetime.now(UTC)
    log.add_recommendation(
        MakerRecommendation("Bay gun", CURED, "Manual", "41", "12 kA, 10 cycles", "Sam", now)
    )
    log.start_clock(EPOXY, "sill", now, 20.0, "Sam")
    for job in ("RO-1", "RO-1", "RO-2"):
        add(log, job)
    log.release(log.joints("RO-1")[0].id, "Sam", "looks right")
    return gather(log, "RO-1", "Corner shop", "Testford", "Sam", datetime.now().astimezone())


def test_the_log_s_own_state_is_gathered(made):
    sill, pillar = made.joints
    assert sill.is_released
    assert len(sill.checks) > 5
    assert pillar.is_cured_without_test
    assert pillar.maker.page == "41"
    assert [each.logged.number for each in made.coupons] == [1, 2]
    assert made.coupons[0].recorded_by == "Sam"
    assert made.clocks[0].used_for == "sill"


def test_a_stored_verdict_is_known_by_the_rules_it_was_made_by(made):
    assert all(each.judged_by(made.rules) == made.rules for each in made.coupons)


def test_it_prints(made):
    assert job_pdf(made).startswith(b"%PDF")
    assert json.loads(to_json(made))["joints"][0]["is_released"] is True


def test_evidence_of_another_job_is_in_the_record(log):
    bare = stack(1.2, 1.0)
    log.save_joint(Joint("floor", "RO-1", bare, "Bay gun"), "Sam")
    numbers = [add(log, "RO-9", bare) for _ in range(2)]
    record = gather(log, "RO-1", "Corner shop", "", "Sam")
    assert [each.logged.number for each in record.coupons] == numbers
    assert [each.joint.name for each in record.joints_of(numbers[0])] == ["floor"]
