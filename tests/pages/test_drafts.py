"""Half-filled forms come back after a restart, and nobody writes over somebody else unseen."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from page_helpers import box, fill_coupon, opened, press, stack, told

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting


@pytest.fixture
def logged(log):
    coupon = Coupon(
        datetime.now(UTC),
        "Sam",
        "Bay gun",
        Electrode(CapShape.DOME, 6),
        stack(1.2, 1.0),
        Setting(9.0, 200, 3.0),
        (InterfaceResult(4.4, 4.8, FailureType.BUTTON),),
    )
    log.save_joint(Joint("sill", "RO-1", stack(1.2, 1.0), "Bay gun"), "Sam")
    return log.add_coupon(coupon, "Sam")


def texts(app):
    return [c.value for c in app.caption]


def tick(app, words):
    return next(c for c in app.checkbox if c.label == words)


def test_what_was_typed_into_a_coupon_is_there_after_a_restart(wet_joint):
    app = opened("coupon")
    box(app, "Smallest").set_value(4.1)
    next(g for g in app.button_group if g.label == "How it failed").set_value(FailureType.BUTTON)
    tick(app, "Expulsion").check().run()
    fresh = opened("coupon")
    assert box(fresh, "Smallest").value == 4.1
    assert box(fresh, "Largest").value is None
    assert tick(fresh, "Expulsion").value
    how = next(g for g in fresh.button_group if g.label == "How it failed")
    assert how.value == FailureType.BUTTON
    assert any(text.startswith("What you had typed at ") for text in texts(fresh))
    assert wet_joint.recent_coupons() == []


def test_a_kept_coupon_leaves_no_draft(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    app.run()
    press(app, "Judge and keep")
    assert len(wet_joint.recent_coupons()) == 1
    fresh = opened("coupon")
    assert box(fresh, "Smallest").value is None
    assert not any(text.startswith("What you had typed") for text in texts(fresh))


def test_a_draft_can_be_thrown_away(wet_joint):
    app = opened("coupon")
    box(app, "Smallest").set_value(4.1).run()
    fresh = opened("coupon")
    press(fresh, "Empty the form")
    assert box(fresh, "Smallest").value is None
    assert box(opened("coupon"), "Smallest").value is None


def test_a_form_that_nobody_touched_is_no_draft(wet_joint):
    opened("coupon").run()
    assert wet_joint.draft("Sam", "anything") is None
    with wet_joint._reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM draft").scalar() == 0


def test_a_refused_coupon_keeps_its_draft(wet_joint):
    app = opened("coupon")
    box(app, "Smallest").set_value(4.9)
    box(app, "Largest").set_value(4.1).run()
    press(app, "Judge and keep")
    assert told(app)
    assert box(opened("coupon"), "Smallest").value == 4.9


def correcting(app):
    return box(app, "Smallest ⌀ of #")


def reason(app):
    return next(t for t in app.text_input if t.label.startswith("Reason"))


def overtaken(log, logged):
    """Correct a coupon to 4.3 mm while somebody else corrects it to 4.6 mm, a moment earlier."""
    app = opened("coupon")
    correcting(app).set_value(4.3).run()
    theirs = replace(logged.coupon, results=(InterfaceResult(4.6, 4.8, FailureType.BUTTON),))
    log.correct_coupon(logged.number, theirs, "Sam", "read again")
    reason(app).set_value("misread").run()
    press(app, "Correct the result")
    return app, theirs


def test_a_correction_that_lost_the_race_shows_both_and_loses_neither(log, logged):
    app, theirs = overtaken(log, logged)
    said = " ".join(told(app))
    assert "results 1, smallest mm: stored 4.6, yours 4.3" in said
    assert log.coupon(logged.number).coupon == theirs
    assert correcting(app).value == 4.3
    press(app, "Keep mine over theirs")
    assert log.coupon(logged.number).coupon.results[0].smallest_mm == 4.3
    assert [each.why for each in log.history(logged.number)] == ["", "read again", "misread"]


def test_their_version_can_be_left_standing(log, logged):
    app, theirs = overtaken(log, logged)
    press(app, "Leave theirs")
    assert correcting(app).value == 4.6
    assert log.coupon(logged.number).coupon == theirs


def test_two_leads_on_one_machine(log):
    app = opened("shop")
    box(app, "Largest current").set_value(12.0).run()
    log.save_machine(Machine("Bay gun", 13, 5, mains_hz=60), "Sam")
    press(app, "Keep the machine")
    assert any("mains hz: stored 60" in text for text in told(app))
    assert log.machine("Bay gun").largest_current_kA == 13
    press(app, "Keep mine over theirs")
    assert log.machine("Bay gun").largest_current_kA == 12
    assert log.machine("Bay gun").mains_hz == 50


def test_two_people_on_one_joint(log):
    number = log.save_joint(Joint("sill", "RO-1", stack(1.2, 1.0), "Bay gun", None, 12), "Sam")
    app = opened("before")
    app.session_state[f"joint·{number}·why"] = True
    app.run()
    next(t for t in app.toggle if t.label == "Correct this joint").set_value(True).run()
    form = [each for each in app.number_input if each.key.startswith(f"joint·{number}·form")]
    next(each for each in form if each.label == "Original welds").set_value(14).run()
    log.save_joint(
        Joint("sill, outer", "RO-1", stack(1.2, 1.0), "Bay gun", None, 12), "Sam", number
    )
    press(app, "Keep the correction")
    assert any("name: stored sill, outer, yours sill" in text for text in told(app))
    assert log.joint(number).joint.name == "sill, outer"
    press(app, "Keep mine over theirs")
    assert (log.joint(number).joint.name, log.joint(number).joint.welds) == ("sill", 14)
