"""A PIN given from the command line of the server, as whoever runs it would type or pipe it."""

import io

import pytest

from advisor.__main__ import main
from advisor.errors import RoleError
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import open_log

GOOD, OTHER = "482913", "739205"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    return str(tmp_path)


@pytest.fixture
def run(folder, monkeypatch):
    def run(*arguments, typed=(GOOD, GOOD)):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
        return main(["pin", *arguments, "--data", folder])

    return run


@pytest.fixture
def log(folder):
    opened = open_log()
    yield opened
    opened.close()


def test_the_first_person_becomes_a_lead_who_can_sign_in(run, log, capsys):
    with pytest.raises(RoleError, match="python -m advisor pin NAME"):
        log.check_may_listen()
    assert run("Kim", "--add") == 0
    assert "the PIN of Kim (lead) is set" in capsys.readouterr().out
    log.check_may_listen()
    assert log.visitor(log.sign_in("kim", GOOD)).role is Role.LEAD
    assert log.changes(1)[0].who == "the server's command line"


def test_a_role_can_be_given_with_the_pin(run, log):
    run("Kim", "--add")
    assert run("Tara", "--add", "--role", "trainer") == 0
    assert [(p.name, p.role) for p in log.people()] == [("Kim", Role.LEAD), ("Tara", Role.TRAINER)]


def test_it_unlocks_the_name_and_ends_earlier_visits(run, log):
    run("Kim", "--add")
    token = log.sign_in("Kim", GOOD)
    with log._writer.begin() as connection:
        connection.exec_driver_sql("UPDATE access SET wrong_tries = 8, locked_at = '2027-01-01'")
    assert log.people()[0].is_locked
    assert run("Kim", typed=(OTHER, OTHER)) == 0
    assert log.visitor(token) is None
    assert log.visitor(log.sign_in("Kim", OTHER)).name == "Kim"


def test_who_had_left_is_entered_again_only_when_asked_for(run, log, capsys):
    run("Kim", "--add")
    run("Robin", "--add")
    log.leave("Robin", "Kim")
    assert run("Robin") == 2
    assert "nobody here is called 'Robin'; known: Kim (--add enters" in capsys.readouterr().err
    assert run("Robin", "--add") == 0
    assert log.visitor(log.sign_in("Robin", GOOD)).name == "Robin"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ((GOOD, OTHER), "the two PINs differ, so nothing was changed"),
        (("111111", "111111"), "is one digit over and over"),
        ((GOOD,), "the two PINs differ"),
        ((), "a PIN has digits 0 to 9 only"),
    ],
)
def test_a_slip_changes_nothing(run, log, capsys, typed, says):
    assert run("Kim", "--add", typed=typed) == 2
    said = capsys.readouterr()
    assert says in said.err
    assert GOOD not in said.out + said.err
    assert log.people() == []


def test_at_a_keyboard_nothing_is_echoed(run, log, monkeypatch):
    class Keyboard(io.StringIO):
        def isatty(self):
            return True

    asked = []
    monkeypatch.setattr("advisor.commands.pin.getpass", lambda ask: asked.append(ask) or GOOD)
    monkeypatch.setattr("sys.stdin", Keyboard())
    assert main(["pin", "Kim", "--add"]) == 0
    assert asked == ["PIN: ", "PIN again: "]
    assert log.used_by(Trust.SIGNED_OUT).sign_in("Kim", GOOD)
