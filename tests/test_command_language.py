"""The command line speaks the language that the environment names, and leaves pages alone."""

import pytest

from advisor.__main__ import main
from advisor.commands.speech import chosen_language
from advisor.language import language


@pytest.fixture
def run(tmp_path, monkeypatch, pseudo):
    """Run a command on a log of the test's in a language; its exit status."""
    monkeypatch.setattr("advisor.language._asked", [])
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))

    def command(code, *arguments):
        monkeypatch.setenv("ADVISOR_LANGUAGE", code)
        return main(arguments)

    return command


@pytest.mark.parametrize(
    ("named", "code"),
    [
        ("de", "de"),
        ("de_DE.UTF-8", "de"),
        (" EN-gb ", "en"),
        ("", None),
        ("tlh", None),
        ("C", None),
    ],
)
def test_the_environment_names_a_language_of_ours_or_none(monkeypatch, named, code):
    monkeypatch.setenv("ADVISOR_LANGUAGE", named)
    assert chosen_language() == code


def test_what_a_command_prints_follows_the_environment(run, capsys):
    assert run("", "verify") == 0
    assert capsys.readouterr().out.endswith("\nthe log is sound\n")
    assert run("de", "verify") == 0
    assert capsys.readouterr().out.endswith("\n⟦the log is sound⟧\n")


def test_what_a_command_refuses_follows_the_environment(run, capsys):
    assert run("de", "export", "log.csv") == 2
    assert capsys.readouterr().err.startswith("⟦log.csv must end in .jsonl")


def test_a_server_refuses_in_that_language_and_lets_its_pages_speak_theirs(run, capsys):
    assert (
        run("de", "serve", "--listen", "203.0.113.1") == 2
    )  # an address of no machine's (RFC 5737)
    assert capsys.readouterr().err.startswith("⟦this machine cannot listen at 203.0.113.1")
    assert language() == "en"
