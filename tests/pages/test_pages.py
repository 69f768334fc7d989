"""Pages without a browser: what is told on bad input, and that nothing typed is lost."""

from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import EPOXY, box, fill_coupon, opened, press, stack, told

from advisor.coupons.joint import Joint
from advisor.coupons.verdict import Outcome
from advisor.store.log import open_log
from advisor.weld.machine import Machine
from advisor.weld.sheet import SteelFamily
from advisor.weld.stack import AdhesiveState

PAGES = ["before", "coupon", "setting", "review", "class", "shop", "files"]


@pytest.mark.parametrize("page", PAGES)
def test_every_page_opens_on_an_empty_log_with_a_way_on(folder, page):
    app = opened(page)
    assert app.title[0].value in ("Prove the setting on a coupon first", "Files")


@pytest.mark.parametrize("page", PAGES)
def test_every_page_opens_on_a_shop_without_joints(log, page):
    opened(page)


def test_first_form_names_what_is_missing(folder):
    app = opened("before")
    press(app, "Start the log")
    assert told(app) == [
        "Please give your name, the machine's name, its largest current, its largest force, "
        "the mains frequency, the face diameter of the caps."
    ]


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (-1.2, 1.0, "sheet thickness is -1.2 mm; it must be positive"),
        (0.047, 1.0, "if that was inches it is 1.19 mm"),
        (3.0, 0.8, "a ratio of 3.75:1; the published rules cover at most 3:1"),
    ],
)
def test_a_stack_that_cannot_be_is_told_and_kept(log, first, second, words):
    app = opened("before")
    box(app, "Sheet 1").set_value(first)
    box(app, "Sheet 2").set_value(second).run()
    assert any(words in text for text in told(app))
    assert box(app, "Sheet 1").value == first
    assert box(app, "Sheet 2").value == second
    assert next(b for b in app.button if b.label == "Add the joint").disabled


def test_aluminium_is_told(log):
    app = opened("before")
    box(app, "Sheet 1").set_value(1.0)
    box(app, "Sheet 2").set_value(1.0)
    metal = next(s for s in app.selectbox if s.label == "Metal")
    metal.select("aluminium or other metal").run()
    assert any("this tool covers steel sheet only" in text for text in told(app))


def test_wet_without_an_adhesive_in_the_shop_is_told(folder):
    log = open_log()
    log.add_welder("Sam", "Sam")
    log.save_machine(Machine("Bay gun", 13, 5), "Sam")
    log.close()
    app = opened("before")
    box(app, "Sheet 1").set_value(1.0)
    box(app, "Sheet 2").set_value(1.0)
    state = next(s for s in app.button_group if s.label == "Between the sheets")
    state.set_value(AdhesiveState.WET).run()
    assert any("No adhesive is entered yet" in text for text in told(app))


def test_a_coupon_is_judged_and_kept(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    logged = wet_joint.coupon(1)
    assert logged.coupon.results[0].size_mm == pytest.approx(4.6)
    assert logged.coupon.job == "RO-1"
    assert "4.6 mm against 4.00 mm = 4√1: pass by 0.6 mm" in logged.verdict.because
    html = " ".join(element.body for element in app.get("html"))
    assert "4.6 mm against 4.00 mm" in html


def test_a_coupon_from_the_future_is_told_and_the_numbers_stay(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    app.datetime_input[0].set_value(datetime.now() + timedelta(days=2))
    press(app, "Judge and keep")
    assert any("which is in the future" in text for text in told(app))
    assert box(app, "Smallest").value == 4.4
    assert list(wet_joint.iter_coupons()) == []


def test_force_beyond_the_machine_is_told(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    box(app, "Force").set_value(9.0)
    press(app, "Judge and keep")
    assert any("electrode force is 9 kN; Bay gun gives 0.5 to 5 kN" in t for t in told(app))
    assert box(app, "Force").value == 9.0


def test_without_a_name_nothing_is_kept(wet_joint):
    wet_joint.add_welder("Second", "Sam")
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    assert any("no welder is named" in text for text in told(app))
    assert box(app, "Smallest").value == 4.4


def test_a_void_from_the_page_keeps_the_row(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    press(app, "Void the coupon")
    assert any("needs its reason in a few words" in text for text in told(app))
    next(t for t in app.text_input if t.label.startswith("Reason")).set_value("wrong sheet")
    press(app, "Void the coupon")
    assert wet_joint.coupon(1).voided == "wrong sheet"


def test_a_cured_joint_gets_the_maker_s_sentence_and_a_coupon_only_setting(log):
    log.save_joint(
        Joint("sill", "RO-1", stack(1.2, 1.0, state=AdhesiveState.CURED), "Bay gun"), "Sam"
    )
    app = opened("setting")
    html = " ".join(element.body for element in app.get("html"))
    assert "bonded-joint test missing" in html
    assert "use the welder maker&#x27;s recommended settings" in html
    assert "A starting setting for a coupon, not for the vehicle." in html


def test_no_published_start_is_said_instead_of_a_number(log):
    steel = stack(1.2, 1.0, family=SteelFamily.PRESS_HARDENED)
    log.save_joint(Joint("pillar", "RO-1", steel, "Bay gun"), "Sam")
    app = opened("setting")
    assert any("no published start for press-hardened steel" in text for text in told(app))
    html = " ".join(element.body for element in app.get("html"))
    assert "Weld current" not in html


def test_class_hides_the_published_start_until_it_is_revealed(folder):
    log = open_log()
    log.save_machine(Machine("Bay gun", 13, 5), "Sam")
    log.close()
    app = opened("class")
    next(group for group in app.button_group if group.label == "View").set_value("starts").run()
    shown = " ".join(m.value for m in app.markdown)
    assert "12.5 kA" in shown
    app.toggle[0].set_value(True).run()
    hidden = " ".join(m.value for m in app.markdown)
    assert "12.5 kA" not in hidden
    assert "what would you set?" in hidden


def test_an_empty_coupon_is_not_kept(wet_joint):
    app = opened("coupon")
    press(app, "Judge and keep")
    assert any("give the two diameters and how it failed" in text for text in told(app))
    assert list(wet_joint.iter_coupons()) == []


def test_a_coupon_can_be_kept_before_its_test(wet_joint):
    app = opened("coupon")
    next(c for c in app.checkbox if c.label.startswith("Not tested yet")).check()
    press(app, "Judge and keep")
    assert wet_joint.coupon(1).verdict.outcome is Outcome.OPEN


def test_what_another_tablet_logs_does_not_empty_this_form(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    other = wet_joint.coupon(1).coupon
    app = opened("coupon")
    wet_joint.add_coupon(other, "Sam")
    fill_coupon(app, 4.1, 4.3)
    press(app, "Judge and keep")
    assert wet_joint.coupon(3).coupon.results[0].size_mm == pytest.approx(4.2)


def test_a_covered_joint_is_released_by_name(wet_joint):
    for _ in range(2):
        app = opened("coupon")
        fill_coupon(app)
        press(app, "Judge and keep")
    app = opened("before")
    press(app, "Release it for welding")
    (state,) = wet_joint.joint_states("RO-1")
    assert state.is_released
    assert state.release.by == "Sam"
    wet_joint.void_coupon(1, "Sam", "wrong sheet")
    app = opened("before")
    assert any("OPEN AGAIN" in text and "wrong sheet" in text for text in told(app))


def test_a_clock_that_disagrees_is_told(wet_joint):
    mixed = datetime.now(UTC) - timedelta(hours=3)
    wet_joint.start_clock(EPOXY, "sill", mixed, 21.0, "Sam")
    app = opened("coupon")
    assert any("says part-cured, the joint is planned wet" in text for text in told(app))
