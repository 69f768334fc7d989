"""The tour of the demo shop: one card a page, never in the way, and nothing outside of the demo."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import EPOXY, html, opened, press, stack

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.pages.parts.tour import STEPS, Tour
from advisor.store.demo_tour import joint_to_prove, newest_number
from advisor.store.log import demo_url, open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

WET = stack(1.2, 1.0, state=AdhesiveState.WET)
CAPS = Electrode(CapShape.DOME, 6)
PAGES = {"before", "coupon", "setting", "review", "class"}


@pytest.fixture
def database():
    """Where the guide leads does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def demo(folder):
    """A small shop in the place of the demo shop: making the invented one takes seconds."""
    log = open_log(demo_url())
    log.mark_demo("Ada")
    log.add_welder("Ada", "Ada")
    log.add_welder("Bo", "Ada")
    log.save_machine(Machine("North", 13, 5), "Ada")
    log.fit_caps("North", CAPS, datetime.now(UTC) - timedelta(days=3), "Ada")
    log.save_adhesive(Adhesive(EPOXY, Span(40, 50), Span(90, 120), Span(1440, 1440)), "Ada")
    log.save_joint(Joint("roof", "D-1", stack(0.8, 0.8), "North"), "Ada")
    log.save_joint(Joint("pillar", "D-2", WET, "North"), "Ada")
    log.save_joint(Joint("rear", "D-3", stack(0.8, 1.0), "North"), "Ada")
    yield log
    log.close()


def weld(log, times=1, job="D-2"):
    for _ in range(times):
        made = datetime.now(UTC) - timedelta(minutes=1)
        result = InterfaceResult(4.4, 4.8, FailureType.BUTTON)
        setting = Setting(9.3, 180, 2.5)
        log.add_coupon(Coupon(made, "Ada", "North", CAPS, WET, setting, (result,), job=job), "Ada")


def card(app):
    """All HTML of a page but its style sheet."""
    return re.sub(r"<style>.*?</style>", "", html(app), flags=re.DOTALL)


def labels(app):
    return [button.label for button in app.button]


def at(step, page, since=0):
    """Open a page at a step, as an address that was handed on does."""
    app = opened(page)
    app.query_params["shop"], app.query_params["tour"] = "demo", f"{step}-2-{since}"
    app.run()
    assert not app.exception
    return app


def test_the_demo_begins_with_the_tour_as_a_lead_of_the_invented_shop(demo):
    app = opened("before")
    press(app, "Open the demo shop")
    assert "Step 1 of 6" in html(app)
    # The job whose bonded joint has no test, although another one is newer.
    assert "D-2, “pillar”, is to be welded" in html(app)
    assert app.selectbox[0].value == "D-2"
    assert app.query_params["who"] == "Ada"


@pytest.mark.parametrize("number", range(1, len(STEPS) + 1))
def test_each_step_speaks_on_its_page_and_leads_on(demo, number):
    app = at(number, STEPS[number - 1].page)
    assert f"Step {number} of {len(STEPS)}" in html(app)
    assert 'class="tour-do"' in html(app)
    ways = [words for words in labels(app) if words.startswith(("Next: ", "On to"))]
    assert len(ways) == 1
    assert "End the tour" in labels(app)


@pytest.mark.parametrize("number", range(1, len(STEPS) + 1))
def test_each_step_speaks_the_reader_s_language(demo, pseudo, monkeypatch, number):
    monkeypatch.setattr("advisor.language._asked", [lambda: "de"])
    weld(demo)
    app = at(number, STEPS[number - 1].page)
    said = re.findall(r'<(?:p|div) class="tour-[a-z]+"[^>]*>(?:✓ )?(.*?)</', card(app))
    assert len(said) == 2 + (number == 3)
    assert all(text.startswith("⟦") and text.endswith("⟧") for text in said)
    assert {"⟦End the tour⟧"} <= set(labels(app))


def test_every_page_of_the_tour_is_one_of_the_app(demo):
    assert {step.page for step in STEPS} == PAGES


def test_on_another_page_the_card_only_shows_the_way_back(demo):
    app = at(2, "files")
    assert "Step 2 of 6" in html(app)
    assert 'class="tour-do"' not in html(app)
    assert "Go to Next setting" in labels(app)


def test_a_coupon_logged_since_the_tour_began_is_noticed(demo):
    weld(demo)
    assert "Done: coupon #1 is judged." in html(at(3, "coupon"))
    assert "Done:" not in html(at(3, "coupon", since=1))


def test_a_release_is_noticed(demo):
    weld(demo, times=2)
    assert "Done:" not in html(at(4, "before"))
    demo.release(2, "Ada")
    assert "Done: the joint is released." in html(at(4, "before"))


def test_the_diameters_offered_pass_the_shop_s_own_rule(demo):
    # 4√1 is 4.00 mm, so their mean is 0.5 mm above it.
    assert "type 4.30 mm and 4.70 mm" in html(at(3, "coupon"))


def test_it_can_be_ended_and_begun_again(demo):
    app = at(5, "review")
    assert "Show me round" not in labels(app)
    press(app, "End the tour")
    assert "tour-step" not in card(app)
    assert "tour" not in app.query_params
    press(app, "Show me round")
    assert app.session_state["tour"].step == 1


def test_leaving_the_demo_ends_it(demo):
    app = at(1, "before")
    press(app, "Leave the demo")
    assert app.title[0].value == "Prove the setting on a coupon first"
    assert "tour" not in app.query_params
    assert "tour-step" not in card(app)


@pytest.mark.parametrize("page", ["before", "coupon", "files"])
def test_nothing_of_it_shows_in_a_shop_s_own_log(wet_joint, page):
    app = opened(page)
    app.query_params["tour"] = "1-1-0"
    app.run()
    assert "tour-step" not in card(app)
    assert not {"Show me round", "End the tour"} & set(labels(app))


@pytest.mark.parametrize("text", ["", "0-1-1", "7-1-1", "1-1", "x", "1-1-1-1", "1--1-1", "٣-1-1"])
def test_an_address_that_names_no_step_begins_nothing(text):
    assert Tour.read(text) is None


def test_a_tour_is_read_as_it_was_written():
    assert Tour.read(str(Tour(4, 12, 396))) == Tour(4, 12, 396)


def test_an_address_of_another_demo_shop_ends_the_tour(demo):
    app = opened("before")
    app.query_params["shop"], app.query_params["tour"] = "demo", "1-99-0"
    app.run()
    assert "tour-step" not in card(app)
    assert "tour" not in app.query_params


def test_each_visitor_finds_a_joint_whose_test_is_missing(demo):
    assert joint_to_prove(demo, "Bo") == 2
    weld(demo, times=2)
    another = joint_to_prove(demo, "Bo")
    assert another > 3
    assert demo.joint(another).joint == Joint("pillar", "D-1042", WET, "North")
    assert joint_to_prove(demo, "Bo") == another
    weld(demo, times=2, job="D-1042")
    assert demo.joint(joint_to_prove(demo, "Bo")).joint.job == "D-1043"


def test_the_newest_coupon_is_a_person_s_own(demo):
    assert newest_number(demo, "Ada") == 0
    weld(demo, times=2)
    assert newest_number(demo, "Ada") == 2
    assert newest_number(demo, "Bo") == 0
