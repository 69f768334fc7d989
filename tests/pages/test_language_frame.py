"""The frame, the bench's own pages and the first form speak the reader's language throughout."""

import pytest
from page_helpers import box, html, opened, press, told
from said_texts import unsaid

from advisor.pages.session import PRACTICE
from advisor.store.practice import make_practice_copy
from advisor.weld.failure import FailureType

PAGES = ["before", "coupon", "setting", "layout"]


@pytest.fixture
def database():
    """What the pages say does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def german(pseudo, monkeypatch):
    """Let everybody read another language, whose sentences stand in ⟦⟧."""
    monkeypatch.setattr("advisor.language._asked", [lambda: "de"])


def again(app):
    app.run()
    assert not app.exception
    return app


def test_the_first_form_and_what_it_refuses(folder, german):
    app = opened("before")
    assert app.title[0].value == "⟦Prove the setting on a coupon first⟧"
    assert unsaid(app) == []
    press(app, "⟦Start the log⟧")
    assert unsaid(app) == []


@pytest.mark.parametrize("page", PAGES)
def test_every_page_of_a_shop_without_joints(log, german, page):
    assert unsaid(opened(page)) == []


@pytest.mark.parametrize("page", PAGES)
def test_every_page_of_a_shop_with_a_joint(wet_joint, german, page):
    assert unsaid(opened(page)) == []


def test_a_joint_and_all_that_it_needs(wet_joint, german):
    app = opened("before")
    for name in ("joint·1·why", "plan·RO-1"):
        app.session_state[name] = True
    assert unsaid(again(app)) == []


def test_a_coupon_its_verdict_and_a_release(wet_joint, german):
    app = opened("coupon")
    for _ in range(3):
        box(app, "⟦Smallest").set_value(5.4)
        box(app, "⟦Largest").set_value(5.6)
        how = next(g for g in app.button_group if g.label == "⟦How it failed⟧")
        how.set_value(FailureType.BUTTON)
        press(app, "⟦Judge and keep⟧")
        assert "⟦pass⟧".upper() in html(app)
        assert unsaid(app) == []
    app = opened("before")
    assert unsaid(app) == []
    press(app, "⟦Release it for welding⟧")
    assert "⟦Released by Sam" in app.success[0].value
    assert unsaid(app) == []
    assert unsaid(opened("setting")) == []


def test_a_layout_given_in_both_ways(log, german):
    app = opened("layout")
    lengths = {"Sheet 1": 0.8, "Sheet 2": 1, "Length": 300, "Width": 16, "Row from edge": 8}
    pitch = {"Number of welds": 7, "Pitch": 40, "First from end": 30}
    for words, value in (lengths | pitch).items():
        next(n for n in app.number_input if words in n.label).set_value(value)
    assert not again(app).error
    assert unsaid(app) == []
    way = next(g for g in app.button_group if g.label == "⟦Given as⟧")
    way.set_value("a list of places").run()
    assert unsaid(app) == []
    app.text_area[0].set_value("20; x").run()
    assert told(app)
    assert unsaid(app) == []


def test_the_ribbon_of_a_practice_copy(log, german):
    make_practice_copy(log, "Sam")
    app = opened("before")
    app.query_params["shop"], app.query_params["who"] = PRACTICE, "Sam"
    assert "⟦PRACTICE COPY" in html(again(app))
    assert "⟦Back to the shop⟧" in [button.label for button in app.button]
    assert unsaid(app) == []
