"""On a page only the cookie of a visit says who is there, at every rerun anew."""

import pytest
import streamlit as st
from gate_helpers import LEAD, WELDER, listens
from page_helpers import html
from streamlit.testing.v1 import AppTest

from advisor.errors import RoleError
from advisor.pages import session, visit
from advisor.pages.door import ENDED
from advisor.pages.listening import PROXY
from advisor.pages.visit import COOKIE, Visit
from advisor.people.roles import Role
from advisor.store.base import Trust

PAGE = "from advisor.pages.shell import run\nrun({!r})"
#: What somebody may write is told by trying.
WRITES = """
import streamlit as st
from advisor.errors import AdvisorError
from advisor.pages.door import at_the_door
from advisor.pages.session import current
here = current(at_the_door()[0])
for by in (here.who, "Lea Lead"):
    try:
        here.log.save_rules(here.log.rules(), by)
    except AdvisorError as error:
        st.error(str(error))
    else:
        st.success(by)
"""
#: A page that forgets the door.
UNGUARDED = """
import streamlit as st
from advisor.errors import AdvisorError
from advisor.pages.session import current
try:
    current()
except AdvisorError as error:
    st.error(str(error))
"""


@pytest.fixture
def people(log):
    """The operator's way to a shop with a machine, a lead and a welder."""
    door = log.used_by(Trust.OPERATOR)
    for (name, pin), role in ((LEAD, Role.LEAD), (WELDER, Role.WELDER)):
        door.add_welder(name, "operator")
        door.set_role(name, role, "operator")
        door.set_pin(name, pin, "operator")
    return door


@pytest.fixture
def cookies(monkeypatch, people):
    """The cookies of the browser whose pages a test opens, on a server that others reach."""
    jar = {}
    monkeypatch.delenv(PROXY, raising=False)
    monkeypatch.setattr(session, "_cookies", lambda: jar)
    listens(monkeypatch, "192.168.1.5", "192.168.1.5")
    return jar


def page(name="shop", **query):
    app = AppTest.from_string(PAGE.format(name), default_timeout=30)
    for key, value in query.items():
        app.query_params[key] = value
    return app.run()


def said(app):
    assert not app.exception
    return [each.value for each in app.markdown if each.value.startswith("Signed in as")]


def is_closed(app):
    pieces = [app.title, app.button, app.text_input, app.radio, app.tabs, app.markdown]
    return not any(len(each) for each in pieces) and ENDED in html(app)


@pytest.mark.parametrize("token", [None, "", "0" * 64, "Wim Welder"])
def test_without_a_visit_there_is_one_sentence_and_the_way_to_the_form(cookies, token):
    if token is not None:
        cookies[COOKIE] = token
    for query in ({}, {"who": LEAD[0]}, {"shop": "demo"}):
        app = page(**query)
        assert is_closed(app)
        assert 'href="/sign-in"' in html(app)


def test_the_visitor_is_who_writes_whatever_the_address_says(cookies, people):
    cookies[COOKIE] = people.sign_in(*WELDER)
    app = page(who=LEAD[0])
    assert said(app) == ["Signed in as **Wim Welder**, welder"]
    assert not app.radio  # nobody else is to be chosen
    assert 'href="/sign-out"' in html(app)
    app = AppTest.from_string(WRITES, default_timeout=30).run()
    refused = [each.value for each in app.error]
    assert "changing the shop's rules takes a lead; Wim Welder is a welder" in refused[0]
    assert "Wim Welder is signed in; Lea Lead has to sign in" in refused[1]
    assert not app.success


def test_a_role_that_changes_holds_from_the_next_rerun_on(cookies, people):
    cookies[COOKIE] = people.sign_in(*WELDER)
    app = page()
    people.set_role(WELDER[0], Role.LEAD, "operator")
    assert said(app.run()) == ["Signed in as **Wim Welder**, lead"]


@pytest.mark.parametrize("what", ["sign_out", "leave"])
def test_a_visit_that_ends_closes_the_page_at_the_next_rerun(cookies, people, what):
    cookies[COOKIE] = token = people.sign_in(*WELDER)
    app = page()
    assert app.title
    if what == "leave":
        people.leave(WELDER[0], "operator")
    else:
        people.sign_out(token)
    assert is_closed(app.run())


def test_a_page_that_was_not_let_in_at_the_door_reads_nothing(cookies):
    app = AppTest.from_string(UNGUARDED, default_timeout=30).run()
    assert not app.exception
    assert "nobody is signed in" in app.error[0].value


def test_what_one_visitor_typed_is_not_shown_to_the_next(cookies, people):
    cookies[COOKIE] = people.sign_in(*WELDER)
    app = page()
    app.session_state["typed"] = "of Wim"
    assert app.run().session_state["typed"] == "of Wim"
    cookies[COOKIE] = people.sign_in(*LEAD)
    app.run()
    assert "typed" not in app.session_state
    assert said(app) == ["Signed in as **Lea Lead**, lead"]


def test_in_the_demo_a_visitor_plays_any_part(cookies, people):
    cookies[COOKIE] = token = people.sign_in(*WELDER)
    app = page(shop="demo")
    assert "DEMO" in html(app)
    picker = next(each for each in app.radio if each.label == "At the bench")
    assert WELDER[0] not in picker.options
    picker.set_value(picker.options[1]).run()
    assert said(app) == ["Signed in as **Wim Welder**, welder"]
    people.sign_out(token)
    assert is_closed(app.run())


def test_on_this_machine_alone_the_name_is_picked(cookies, people, monkeypatch):
    listens(monkeypatch, "127.0.0.1")
    app = page()
    assert [each.label for each in app.menu_button] == ["Who is at the bench?"]
    assert said(app) == []
    assert "sign-out" not in html(app)


def test_a_part_that_runs_by_itself_looks_again_and_draws_the_page_anew(monkeypatch):
    def anew():
        raise RuntimeError("drawn anew")

    answers = iter(["still here", None])
    looked = []

    def look():
        looked.append(next(answers))
        return looked[-1]

    monkeypatch.setattr(st, "rerun", anew)
    here = Visit("here", look)
    here.confirm()  # the door has just looked
    assert looked == []
    monkeypatch.setattr(visit, "_FRESH_S", 0.0)
    here.confirm()
    assert here.person == "still here"
    with pytest.raises(RuntimeError, match="drawn anew"):
        here.confirm()


def test_a_file_that_is_made_after_the_visit_has_ended_is_not_made(monkeypatch):
    monkeypatch.setattr(visit, "_FRESH_S", 0.0)
    with pytest.raises(RoleError, match="the visit has ended"):
        Visit("here", lambda: None).confirm()
