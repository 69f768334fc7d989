"""The form takes a name and a PIN, tells a stranger nothing, and is not to be tried for ever."""

import re

import pytest
from gate_helpers import LEAD, WELDER

from advisor.pages import server
from advisor.pages.listening import PROXY
from advisor.pages.throttle import MOST, PER_S, Throttle
from advisor.store.base import Trust


def test_the_form_needs_no_script_no_other_server_and_names_nobody(door):
    answer = door.get("/sign-in")
    for word in ("<script", "http:", "https:", "url(", *LEAD, *WELDER):
        assert word not in answer.body
    assert "script-src" not in answer.headers["content-security-policy"]
    pin = re.search(r'<input id="pin"[^>]*>', answer.body)[0]
    for words in (
        'type="password"',
        'inputmode="numeric"',
        'autocomplete="current-password"',
    ):
        assert words in pin
    assert " value=" not in pin
    assert 'for="pin"' in answer.body
    assert 'for="name"' in answer.body


def test_the_right_pin_sets_a_cookie_that_scripts_and_other_servers_never_see(door):
    answer = door.sign_in(("wim  WELDER".replace("  ", " "), WELDER[1]))
    assert (answer.status, answer.headers["location"]) == (303, "/")
    line = answer.cookies["weld_visit"]
    assert re.match(r"weld_visit=[0-9a-f]{64};", line)
    for words in ("HttpOnly", "SameSite=strict", "Path=/", "Max-Age=43200"):
        assert words in line
    assert "Secure" not in line
    # The name is offered next time, as the shop writes it; the PIN is kept nowhere.
    assert door.jar["weld_name"] == "Wim%20Welder"
    assert all(WELDER[1] not in line for line in answer.cookies.values())
    del door.jar["weld_visit"]
    assert 'value="Wim Welder"' in door.get("/sign-in").body


@pytest.mark.parametrize("name", [WELDER[0], "Nobody", "", "x" * 3000, "a\0b", "<b>'\""])
def test_a_wrong_pin_is_refused_alike_for_everybody(door, shop, name):
    answer = door.sign_in((name, "905172"))
    assert answer.status == 403
    assert 'role="alert"' in answer.body
    assert "do not fit together" in answer.body
    assert "905172" not in answer.body
    assert "<b>" not in answer.body
    assert door.jar == {}
    shop.used_by(Trust.OPERATOR).unlock(WELDER[0], "operator")


@pytest.mark.parametrize("target", ["/coupon?shop=demo", "/", "/rates?from=2026-01-01&x=%2F"])
def test_signing_in_goes_on_to_the_page_that_was_asked_for(door, target):
    assert door.sign_in(WELDER, next=target).headers["location"] == target


@pytest.mark.parametrize(
    "target",
    [
        "https://evil.example/",
        "//evil.example/",
        "///evil.example",
        "/\\evil.example",
        "\\\\evil.example",
        "javascript:alert(1)",
        "/\t/evil.example",
        "/\n/evil.example",
        " //evil.example",
        "evil.example",
        "/sign-out",
        "/_stcore/metrics",
        "http:/evil.example",
        "//[",
    ],
)
def test_signing_in_goes_to_no_other_server(door, target):
    assert door.sign_in(WELDER, next=target).headers["location"] == "/"
    # Somebody who has signed in already is sent on in the same way.
    assert server.own_path(target) == "/"


@pytest.mark.parametrize(
    ("scheme", "proxy", "told", "secure"),
    [
        ("http", False, None, False),
        ("http", False, "https", False),
        ("https", False, None, True),
        ("http", True, "https", True),
        ("http", True, "http", False),
    ],
)
def test_the_cookie_is_for_encrypted_connections_only_where_there_is_one(
    door, monkeypatch, scheme, proxy, told, secure
):
    if proxy:
        monkeypatch.setenv(PROXY, "1")
    door.scheme = scheme
    answer = door.sign_in(WELDER, headers={"x-forwarded-proto": told})
    assert ("Secure" in answer.cookies["weld_visit"]) is secure


def test_a_long_body_is_refused_before_it_is_read(door):
    head = {"origin": f"http://{door.host}"}
    answer = door.ask("POST", "/sign-in", head, [b"name=" + b"x" * 2000] * 50)
    assert answer.status == 413
    assert answer.read <= 3


def tries(door, times, **headers):
    return [door.sign_in((f"nobody {n}", "905172"), headers=headers).status for n in range(times)]


def test_one_device_has_ten_wrong_tries_a_minute(door, clock):
    assert tries(door, MOST + 1) == [403] * MOST + [429]
    answer = door.sign_in(WELDER)  # the right one does not pass either
    assert answer.status == 429
    assert answer.headers["retry-after"] == "60"
    assert "try again in 60 s" in answer.body
    # What a browser says of its address is not believed, another device is free.
    assert door.sign_in(WELDER, headers={"x-forwarded-for": "10.9.9.9"}).status == 429
    door.device = "10.1.1.8"
    assert door.sign_in(WELDER).status == 303
    door.device = "10.1.1.7"
    clock.now_s = PER_S + 1
    assert door.sign_in(WELDER).status == 303


def test_right_tries_are_not_counted(door):
    assert {door.sign_in(WELDER).status for _ in range(MOST + 2)} == {303}


def test_behind_the_shop_s_proxy_each_device_is_counted_by_what_the_proxy_added_last(
    door, monkeypatch
):
    monkeypatch.setenv(PROXY, "1")
    assert tries(door, MOST, x_forwarded_for="1.2.3.4, 10.0.0.1") == [403] * MOST
    for said in ("9.9.9.9, 10.0.0.1", "10.0.0.1"):
        assert door.sign_in(WELDER, headers={"x-forwarded-for": said}).status == 429
    assert door.sign_in(WELDER, headers={"x-forwarded-for": "10.0.0.1, 10.0.0.2"}).status == 303


def test_an_ipv6_device_is_counted_by_its_half_of_the_address(clock):
    throttle = Throttle(clock)
    waits = [throttle.begin(f"2001:db8::{n:x}") for n in range(MOST + 1)]
    assert waits == [0.0] * MOST + [PER_S]
    assert throttle.begin("2001:db8:0:1::1") == 0.0
    assert throttle.begin("fe80::1%eth0") == 0.0


def test_the_memory_of_addresses_is_bounded(clock):
    throttle = Throttle(clock)
    for number in range(30_000):
        throttle.begin(f"10.{number // 65536}.{number // 256 % 256}.{number % 256}")
    assert len(throttle._tries) == 10_000
