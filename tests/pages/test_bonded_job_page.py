"""Before welding: usual joints, copies, checks and the maker's recommendation on the page."""

from dataclasses import replace
from datetime import UTC, datetime

from page_helpers import box, html, opened, press, stack, told

from advisor.bonding.preparation import CHECKS, Answer
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.weld.stack import AdhesiveState

CURED = Joint("pillar", "RO-1", stack(1.2, 1.0, state=AdhesiveState.CURED), "Bay gun", None, 8, 35)


def chosen(app, label):
    return next(each for each in app.selectbox if each.label == label)


def unfolded(app):
    """Open what is folded away under the first joint."""
    app.session_state["joint·1·why"] = True
    return app.run()


def test_a_copy_starts_from_the_other_joint(log):
    log.save_joint(CURED, "Sam")
    app = opened("before")
    chosen(app, "Start from").select_index(1).run()
    assert (box(app, "Sheet 1").value, box(app, "Sheet 2").value) == (1.2, 1.0)
    assert box(app, "Original welds").value == 8
    next(each for each in app.text_input if each.label == "Where it is").input("pillar, inner")
    press(app, "Add the joint")
    old, new = (each.joint for each in log.joints("RO-1"))
    assert new == replace(old, name="pillar, inner")


def test_a_usual_joint_is_offered_again(log):
    log.save_template("Pillar, cured", CURED, "Sam")
    app = opened("before")
    chosen(app, "Start from").select_index(1).run()
    assert chosen(app, "Start from").value == "usual: Pillar, cured"
    assert box(app, "Original pitch").value == 35


def test_checks_stand_on_the_joint_and_say_by_how_much(log):
    number = log.save_joint(CURED, "Sam")
    log.add_check(number, "backer_width", Answer.DONE, 46.0, "Sam")
    app = unfolded(opened("before"))
    assert "46 mm, 4 mm less than the 50 mm wanted (Sam)" in html(app)
    assert any(f"0 of {len(CHECKS)} right" in each.value for each in app.markdown)
    press(app, "Write it down")
    assert [each.key for each in log.checks(number)] == ["backer_width", "faces_bare"]


def test_the_maker_s_recommendation_is_shown_as_the_maker_s(log):
    log.save_joint(CURED, "Sam")
    assert not any("Welder maker's recommendation, not" in each for each in told(opened("before")))
    at = datetime(2026, 3, 2, tzinfo=UTC)
    log.add_recommendation(
        MakerRecommendation("Bay gun", CURED.stack, "Book 7", "31", "program 4", "Sam", at)
    )
    (shown,) = [each for each in told(opened("before")) if "recommendation, not" in each]
    assert "not this tool's: program 4 (Book 7, page 31; copied by Sam" in shown


def test_a_job_of_many_joints_draws_a_handful(log):
    for number in range(20):
        log.save_joint(replace(CURED, name=f"seam {number}"), "Sam")
    app = opened("before")
    assert html(app).count('class="card ') == 4  # with a state, as a joint's has
    chosen(app, "20 joints; shown are").select_index(4).run()
    assert "seam 19" in html(app)
    assert "seam 15" not in html(app)


def test_a_joint_is_corrected_until_it_is_released(log):
    log.save_joint(CURED, "Sam")
    app = unfolded(opened("before"))
    next(each for each in app.toggle if each.label == "Correct this joint").set_value(True).run()
    form = [each for each in app.number_input if each.key.startswith("joint·1·form")]
    next(each for each in form if each.label.startswith("Sheet 1")).set_value(1.5).run()
    press(app, "Keep the correction")
    (stored,) = log.joints("RO-1")
    assert stored.joint.stack.thicknesses_mm == (1.5, 1.0)
    assert stored.joint.name == CURED.name
