"""Where the server listens, under which names, and what it asks for before it does."""

import os

import pytest
import streamlit as st
from gate_helpers import EVERY_ADDRESS, LEAD, in_a_loop, listens

from advisor.__main__ import main
from advisor.commands import serve
from advisor.pages import listening, server
from advisor.pages.listening import PROXY, is_served
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import open_log


@pytest.mark.parametrize(
    ("host", "served"),
    [
        ("weld.shop.example", True),
        ("WELD.shop.example.:8501", True),
        ("a.tablets.example", True),
        ("tablets.example", False),
        ("weld.shop.example.evil.example", False),
        ("weld.shop.example:x", False),
        ("weld.shop.example:99999", False),
        ("user@weld.shop.example", False),
        ("weld.shop.example/x", False),
        ("evil.example#weld.shop.example", False),
        ("evil.example?weld.shop.example", False),
        ("[::1", False),
        ("", False),
    ],
)
def test_only_the_named_hosts_are_served(monkeypatch, host, served):
    listens(monkeypatch, EVERY_ADDRESS, "weld.shop.example", "*.tablets.example")
    assert is_served(host) is served


def test_a_server_without_names_serves_this_machine_s(monkeypatch):
    listens(monkeypatch, EVERY_ADDRESS)
    assert is_served("localhost")
    assert not is_served("evil.example")


def test_a_server_at_every_address_is_asked_for_by_its_own_names(monkeypatch):
    monkeypatch.setattr(listening.socket, "gethostname", lambda: "Bay3.shop.example")
    monkeypatch.setattr(listening, "own_address", lambda: "192.168.1.5")
    names = listening.names_of(EVERY_ADDRESS)
    assert names[0] == "192.168.1.5"
    assert {"bay3.shop.example", "bay3.local", "localhost", "127.0.0.1"} <= set(names)
    assert listening.names_of("192.168.1.6") == ["192.168.1.6"]


@pytest.fixture
def started(monkeypatch, tmp_path):
    """Start the program; the options Streamlit would be started with, or None, and the status."""
    from streamlit.web import cli

    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    for name in (PROXY, "FORWARDED_ALLOW_IPS", "ADVISOR_DATABASE_URL"):
        monkeypatch.setenv(name, "")
        monkeypatch.delenv(name)
    monkeypatch.setattr(serve, "_PLACES", (tmp_path,))

    def starting(*arguments):
        given = []
        monkeypatch.setattr(cli, "main", lambda options, standalone_mode: given.extend(options))
        status = main(["--no-browser", *arguments, "--data", str(tmp_path)])
        return status, given

    return starting


@pytest.fixture
def lead_has_pin(tmp_path):
    log = open_log(f"sqlite:///{tmp_path}/log.sqlite")
    door = log.used_by(Trust.OPERATOR)
    door.add_welder(LEAD[0], "operator")
    door.set_role(LEAD[0], Role.LEAD, "operator")
    door.set_pin(*LEAD, "operator")
    log.close()


@pytest.mark.parametrize(
    "options", [["--listen", "127.0.0.2"], ["--listen", EVERY_ADDRESS], ["--behind-proxy"]]
)
def test_nobody_listens_before_a_lead_has_a_pin(started, capsys, options):
    assert started(*options) == (2, [])
    assert "python -m advisor pin NAME --role lead" in capsys.readouterr().err


@pytest.mark.parametrize("address", ["192.0.2.77", "no-such-name.invalid", "300.1.1.1"])
def test_an_address_of_another_machine_is_told(started, capsys, address, lead_has_pin):
    assert started("--listen", address) == (2, [])
    assert f"this machine cannot listen at {address}" in capsys.readouterr().err


def test_without_options_it_is_this_machine_alone(started, capsys):
    status, given = started("--port", "8600")
    assert status == 0
    assert "--server.port=8600" in given
    assert not any(option.startswith("--server.address") for option in given)
    assert names(given) == ["localhost", "127.0.0.1", "::1"]
    assert PROXY not in os.environ
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("address", ["localhost", "127.0.0.1", "::1"])
def test_this_machine_named_is_still_this_machine(started, monkeypatch, address):
    status, given = started("--listen", address)
    assert (status, f"--server.address={address}" in given) == (0, True)
    listens(monkeypatch, address)
    assert not listening.is_guarded()


def test_an_address_and_names_are_passed_on_and_the_open_wire_is_told(
    started, capsys, lead_has_pin
):
    status, given = started("--listen", "127.0.0.2", "--host", "weld.lan", "--host", "weld")
    assert status == 0
    assert "--server.address=127.0.0.2" in given
    assert names(given) == ["weld.lan", "weld", "127.0.0.2"]
    assert "--browser.serverAddress=weld.lan" in given
    assert "unencrypted" in capsys.readouterr().err
    assert os.environ["FORWARDED_ALLOW_IPS"] == ""


def test_behind_a_proxy_everybody_signs_in_though_it_listens_to_this_machine(
    started, capsys, monkeypatch, lead_has_pin
):
    status, given = started("--behind-proxy", "--host", "weld.shop.example")
    assert status == 0
    assert "weld.shop.example" in names(given)
    assert "unencrypted" not in capsys.readouterr().err
    listens(monkeypatch, "127.0.0.1")
    assert listening.is_guarded()


def test_a_sign_in_service_needs_no_pin(started, tmp_path):
    (tmp_path / ".streamlit").mkdir()
    secrets = tmp_path / ".streamlit" / "secrets.toml"
    secrets.write_text('[other]\nkey = "x"\n')
    assert started("--listen", "127.0.0.2")[0] == 2
    secrets.write_text('[auth]\nclient_id = "x"\n')
    assert started("--listen", "127.0.0.2")[0] == 0


def test_a_secrets_file_that_cannot_be_read_is_told(started, tmp_path, capsys):
    (tmp_path / ".streamlit").mkdir()
    (tmp_path / ".streamlit" / "secrets.toml").write_text("[auth")
    assert started("--listen", "127.0.0.2") == (2, [])
    assert "secrets.toml cannot be read" in capsys.readouterr().err


def names(given):
    return [each.partition("=")[2] for each in given if each.startswith("--server.allowedHosts")]


@pytest.mark.parametrize(
    ("shown", "headless", "opened"),
    [
        ("127.0.0.1", False, ["http://127.0.0.1:8600"]),
        ("fe80::1", False, ["http://[fe80::1]:8600"]),
        ("127.0.0.1", True, []),
    ],
)
def test_the_page_opens_in_a_browser_unless_told_not_to(monkeypatch, shown, headless, opened):
    options = {
        "server.headless": headless,
        "server.sslCertFile": None,
        "server.port": 8600,
        "browser.serverAddress": shown,
    }
    seen = []
    monkeypatch.setattr(st, "get_option", options.get)
    monkeypatch.setattr(server.webbrowser, "open", seen.append)

    async def starting():
        async with server.started(None):
            return list(seen)

    assert in_a_loop(starting()) == opened
