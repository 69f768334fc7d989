"""The first days of a shop: what to do first, ticked from the log, and no page without a way on."""

import re
from datetime import UTC, datetime

import pytest
from page_helpers import html, opened, press, stack, told

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.rules import ShopRules
from advisor.store.first_steps import ENOUGH_COUPONS, First, first_steps
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

TITLE = "Before the first bonded joint"
EPOXY = Adhesive("Test epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440))
CAPS = Electrode(CapShape.DOME, 6)
WET, CURED = (stack(1.2, 1.0, state=s) for s in (AdhesiveState.WET, AdhesiveState.CURED))


@pytest.fixture
def database():
    """What a new shop is told to do first does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def new(folder):
    """A shop right after the first form."""
    log = open_log()
    log.add_welder("Sam", "Sam")
    log.save_machine(Machine("Bay gun", 13, 5), "Sam")
    log.fit_caps("Bay gun", CAPS, datetime.now(UTC), "Sam")
    yield log
    log.close()


def weld(log, times=1):
    result = InterfaceResult(4.4, 4.8, FailureType.BUTTON)
    for _ in range(times):
        now = datetime.now(UTC)
        setting = Setting(9.3, 180, 2.5)
        log.add_coupon(Coupon(now, "Sam", "Bay gun", CAPS, WET, setting, (result,)), "Sam")


def done(log, **seen):
    return {step.what for step in first_steps(log, **seen) if step.is_done}


def ticked(app):
    return re.findall(r'<li class="done">.*?</b> (.*?)\.?</span>', html(app))


def labels(app):
    return [button.label for button in app.button]


def test_nothing_is_done_in_a_new_shop(new):
    assert done(new) == set()
    assert [step.what for step in first_steps(new)] == list(First)


def test_each_step_is_told_from_the_log(new):
    new.save_adhesive(EPOXY, "Sam")
    assert done(new) == {First.ADHESIVE}
    assert done(new, rules_seen=True) == {First.ADHESIVE, First.RULES}
    new.save_rules(ShopRules(dress_after_welds=200), "Sam")
    assert done(new) == {First.ADHESIVE, First.RULES}
    new.save_joint(Joint("roof", "RO-1", stack(1.2, 1.0), "Bay gun"), "Sam")
    assert First.JOINT not in done(new)  # it has no adhesive
    new.save_joint(Joint("sill", "RO-1", CURED, "Bay gun"), "Sam")
    assert done(new) == {First.ADHESIVE, First.RULES, First.JOINT}
    new.add_recommendation(
        MakerRecommendation("Bay gun", CURED, "Manual", "7", "9 kA", "Sam", datetime.now(UTC))
    )
    assert done(new) == {First.ADHESIVE, First.RULES, First.JOINT, First.MAKER}


def test_the_list_goes_with_the_last_step_that_is_needed(new):
    new.save_adhesive(EPOXY, "Sam")
    weld(new)
    assert done(new) == {First.ADHESIVE, First.COUPON}
    new.save_joint(Joint("sill", "RO-1", WET, "Bay gun"), "Sam")
    assert first_steps(new) == ()


def test_a_shop_with_a_few_coupons_knows_its_way(new):
    new.save_adhesive(EPOXY, "Sam")
    weld(new, ENOUGH_COUPONS - 1)
    assert first_steps(new) != ()
    weld(new)
    assert first_steps(new) == ()


def test_the_page_ticks_what_is_done_and_offers_the_rest(new):
    app = opened("before")
    assert TITLE in html(app)
    assert ticked(app) == []
    assert {"Enter the adhesive", "Look at the rules", "Log the first coupon"} <= set(labels(app))
    new.save_adhesive(EPOXY, "Sam")
    app.run()
    assert ticked(app) == [
        "Enter the adhesive with the times of its label (Shop set-up, Adhesives)"
    ]
    assert "Enter the adhesive" not in labels(app)


@pytest.mark.parametrize(
    ("button", "title"),
    [
        ("Enter the adhesive", "Shop set-up"),
        ("Look at the rules", "Shop set-up"),
        ("Log the first coupon", "Log a coupon"),
    ],
)
def test_each_button_leads_to_its_page(new, button, title):
    app = opened("before")
    press(app, button)
    assert app.title[0].value == title


def test_rules_that_were_looked_at_are_ticked(new):
    press(opened("before"), "Look at the rules")
    (line,) = ticked(opened("before"))
    assert line.startswith("Look at the shop")


def test_the_list_can_be_put_away_for_good(new):
    app = opened("before")
    press(app, "Put this list away")
    assert TITLE not in html(app)
    again = opened("before")
    assert TITLE not in html(again)
    assert told(again)[0].startswith("No job is open. Add the first joint")


def test_the_first_form_leads_to_the_list(folder):
    app = opened("before")
    app.text_input[0].set_value("Sam")
    app.text_input[1].set_value("Bay gun")
    for number, value in zip(app.number_input, (13, 5, 6), strict=True):
        number.set_value(value)
    next(g for g in app.button_group if g.label == "Mains [Hz]").set_value(50)
    press(app, "Start the log")
    assert app.title[0].value == "Before welding"
    assert TITLE in html(app)


#: By page and view: what a shop without any coupon or joint is told, and where it is led.
EMPTY = {
    ("coupon", ""): ("No joint is entered yet.", "Add the first joint", "Before welding"),
    ("setting", ""): ("No joint is entered yet.", "Add the first joint", "Before welding"),
    ("review", "now"): ("No coupon is logged yet.", "Log the first coupon", "Log a coupon"),
    ("review", "rates"): ("No coupon is logged yet.", "Log the first coupon", "Log a coupon"),
    ("review", "drift"): ("No coupon is logged yet.", "Log the first coupon", "Log a coupon"),
    ("review", "failures"): ("No job is open", "Add a joint", "Before welding"),
    ("review", "evidence"): ("No joint was released", "Before welding", "Before welding"),
}


@pytest.mark.parametrize(("page", "view"), EMPTY)
def test_an_empty_page_says_what_is_missing_and_leads_there(new, page, view):
    words, button, title = EMPTY[page, view]
    app = opened(page)
    if view:
        app.session_state["view"] = view
        app.run()
    assert any(text.startswith(words) for text in told(app))
    press(app, button)
    assert app.title[0].value == title


def test_nothing_is_no_comfort_before_the_first_coupon(new):
    assert "Nothing needs you" not in html(opened("review"))
    weld(new)
    assert "Nothing needs you" in html(opened("review"))


@pytest.mark.parametrize("tab", ["adhesives", "people"])
def test_a_tab_without_entries_says_why_they_are_needed(new, tab):
    first = {"adhesives": "No adhesive is entered yet", "people": "Add everybody who welds"}[tab]
    app = opened("shop")
    assert any(text.startswith(first) for text in told(app))
    new.save_adhesive(EPOXY, "Sam")
    new.add_welder("Kim", "Sam")
    assert not any(text.startswith(first) for text in told(app.run()))


def test_the_files_say_what_is_in_them_and_offer_the_demo_shop(new):
    app = opened("files")
    assert any("No coupon is logged yet" in each.value for each in app.caption)
    assert "Look round the demo shop" in labels(app)
    weld(new)
    assert not any("No coupon is logged yet" in each.value for each in app.run().caption)
