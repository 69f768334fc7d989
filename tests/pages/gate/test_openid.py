"""Where the shop has a sign-in service, its word counts; the shop only says who the address is."""

import json

import pytest
import streamlit as st
from gate_helpers import BEHIND, WELDER, listens
from page_helpers import html
from streamlit.testing.v1 import AppTest
from streamlit.web.server.starlette.starlette_app_utils import create_signed_value

from advisor.pages import door, gate, listening, server, session
from advisor.pages.visit import by_service
from advisor.people.roles import Role
from advisor.store.base import Trust

SECRET = "only-of-this-test-0123456789abcdef"  # noqa: S105  (signs nothing but this test's cookies)
ADDRESS = "wim@shop.example"
GOOD = {"is_logged_in": True, "email": ADDRESS, "email_verified": True}
DOUBTFUL = [
    {},
    {"is_logged_in": True},
    {"is_logged_in": False, "email": ADDRESS},
    {"email": ADDRESS},
    {"is_logged_in": True, "email": ADDRESS, "email_verified": False},
    {"is_logged_in": True, "email": ADDRESS, "email_verified": "false"},
    {"is_logged_in": True, "email": "other@shop.example"},
    {"is_logged_in": True, "email": None},
    {"is_logged_in": True, "email": ["wim@shop.example"]},
    {"is_logged_in": True, "name": WELDER[0]},
]


@pytest.fixture
def service(monkeypatch):
    """Name a sign-in service in the settings."""
    from streamlit.web.server import server_util

    for module in (door, gate, listening, server, session):
        monkeypatch.setattr(module, "uses_openid", lambda: True)
    monkeypatch.setattr(server_util, "get_cookie_secret", lambda: SECRET)


@pytest.fixture(scope="module")
def known(shop):
    shop.used_by(Trust.OPERATOR).set_email(WELDER[0], ADDRESS, "operator")
    return shop


def cookie(user, secret=SECRET, name="_streamlit_user"):
    return create_signed_value(secret, name, json.dumps(user)).decode()


@pytest.mark.parametrize("more", [{}, {"email": "WIM@shop.example"}, {"email_verified": "true"}])
def test_a_known_address_is_its_person(known, more):
    assert by_service(known, GOOD | more).name == WELDER[0]
    assert by_service(known, {"is_logged_in": True, "email": ADDRESS}).name == WELDER[0]


@pytest.mark.parametrize("user", DOUBTFUL)
def test_an_address_that_is_unknown_or_not_sure_is_nobody(known, user):
    assert by_service(known, user) is None


def test_a_stranger_reaches_the_service_and_nothing_else(opened, known, service):
    door = opened(known)
    for path in ("/", "/coupon", "/_stcore/host-config", "/auth/login", "/oauth2callback"):
        assert door.get(path).body == BEHIND
    assert door.connect() == 101
    for path in ("/_stcore/metrics", "/media/0123.png", "/_stcore/agent/interact", "/app/static/x"):
        assert door.get(path).status == 403
    assert (
        door.ask("PUT", "/_stcore/upload_file/a/b", {"origin": f"http://{door.host}"}).status == 403
    )
    # The shop's own form is closed.
    assert door.get("/sign-in").headers["location"] == "/"
    assert door.sign_in(WELDER).headers["location"] == "/"
    assert door.jar == {}


def test_a_file_is_for_whom_the_service_has_named(opened, known, service):
    door = opened(known)
    door.jar["_streamlit_user"] = cookie(GOOD)
    assert door.get("/media/0123.png").body == BEHIND
    for user in DOUBTFUL:
        door.jar["_streamlit_user"] = cookie(user)
        assert door.get("/media/0123.png").status == 403


@pytest.mark.parametrize(
    "value",
    [
        "",
        "x",
        json.dumps(GOOD),
        cookie(GOOD, "another-secret-0123456789abcdef012"),
        cookie(GOOD, name="_streamlit_user_tokens"),
        cookie([1]),
        cookie(GOOD)[:-1] + "!",
    ],
    # A cookie holds the moment it was made at, which is no name for a test.
    ids=["empty", "a letter", "plain", "other secret", "other name", "other kind", "cut"],
)
def test_what_the_service_has_not_signed_opens_nothing(opened, known, service, value):
    door = opened(known)
    assert door.get("/media/0123.png", cookie=f"_streamlit_user={value}").status == 403


# The page


@pytest.fixture
def user(monkeypatch, log, service):
    """What the service says of the browser whose page a test opens."""
    said, asked = {}, []
    log.used_by(Trust.OPERATOR).add_welder(WELDER[0], "operator")
    log.used_by(Trust.OPERATOR).set_role(WELDER[0], Role.WELDER, "operator")
    log.used_by(Trust.OPERATOR).set_email(WELDER[0], ADDRESS, "operator")
    listens(monkeypatch, "192.168.1.5", "192.168.1.5")
    for module in (door, session):
        monkeypatch.setattr(module, "said_by_service", lambda: said)
    monkeypatch.setattr(st, "login", lambda *which: asked.append(("login", *which)))
    monkeypatch.setattr(st, "logout", lambda: asked.append(("logout",)))
    monkeypatch.setattr(door, "find_spec", lambda name: name)  # the package is an extra
    said["asked"] = asked
    return said


def page():
    app = AppTest.from_string(
        "from advisor.pages.shell import run\nrun('shop')", default_timeout=30
    ).run()
    assert not app.exception
    return app


@pytest.mark.parametrize(
    ("auth", "services"),
    [
        ({"client_id": "x", "server_metadata_url": "y"}, {"Sign in": None}),
        ({"one": {"client_id": "x"}}, {"Sign in with one": "one"}),
        (
            {"one": {"client_id": "x"}, "two": {"client_id": "y"}},
            {"Sign in with one": "one", "Sign in with two": "two"},
        ),
    ],
)
def test_a_stranger_is_sent_to_the_service_at_a_touch(user, auth, services, monkeypatch):
    monkeypatch.setattr(st, "secrets", {"auth": {"cookie_secret": "x", **auth}})
    app = page()
    assert not app.title
    assert user["asked"] == []
    assert [each.label for each in app.button] == list(services)
    for button, service in zip(app.button, services.values(), strict=True):
        button.click().run()
        assert user["asked"].pop() == ("login", service)


def test_a_service_without_its_package_is_told(user, monkeypatch):
    monkeypatch.setattr(door, "find_spec", lambda name: None)
    app = page()
    assert "weld-coupon-advisor[openid]" in html(app)
    assert not app.button


def test_a_known_address_opens_the_page_and_can_sign_out(user):
    user.update(GOOD)
    app = page()
    assert app.title
    assert "Signed in as **Wim Welder**, welder" in [each.value for each in app.markdown]
    next(each for each in app.button if each.label == "Sign out").click().run()
    assert user["asked"] == [("logout",)]


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"email": "other@shop.example"}, "Nobody in this shop has the address other@shop.example"),
        ({"email": "<b>@shop.example"}, "the address &lt;b&gt;@shop.example"),
        ({"email": ADDRESS, "email_verified": False}, f"has not made sure that {ADDRESS} is yours"),
        ({"email": None}, "has named no e-mail address"),
    ],
)
def test_any_other_address_is_told_why_not(user, said, sentence):
    user.update({"is_logged_in": True, **said})
    app = page()
    assert sentence in html(app)
    assert not app.title
    assert [each.label for each in app.button] == ["Sign in with another account"]
    app.button[0].click().run()
    assert user["asked"] == [("logout",)]
