"""Before anybody has signed in, the form and every refusal speak the browser's language."""

import re

import pytest
from gate_helpers import WELDER

from advisor.pages import spoken

GERMAN = {"accept_language": "de-AT, en;q=0.5"}


@pytest.fixture(autouse=True)
def german(tmp_path, pseudo, monkeypatch):
    """A program with a German catalogue, whose sentences stand in ⟦⟧."""
    (tmp_path / "de.po").touch()
    monkeypatch.setattr(spoken, "CATALOGUES", tmp_path)


def words(body):
    """The texts between the tags of a page."""
    shown = re.sub(r"<style>.*?</style>", "", body, flags=re.DOTALL)
    return [text for text in re.sub(r"<[^>]+>", "\n", shown).split("\n") if text.strip()]


def test_the_form(door):
    answer = door.get("/sign-in", **GERMAN)
    assert '<html lang="de">' in answer.body
    assert [text for text in words(answer.body) if not text.startswith("⟦")] == []
    assert '<html lang="en">' in door.get("/sign-in", accept_language="en").body
    assert "⟦" not in door.get("/sign-in").body


def test_what_the_log_refuses_is_said_to_the_browser_that_asked(door):
    answer = door.sign_in((WELDER[0], "905172"), headers=GERMAN)
    assert answer.status == 403
    assert len(words(answer.body)) > 4
    assert [text for text in words(answer.body) if not text.startswith("⟦")] == []
    assert "⟦" not in door.sign_in((WELDER[0], "905173")).body


@pytest.mark.parametrize(
    ("path", "more"),
    [
        ("/media/photo.jpg", {}),
        ("/", {"host": "elsewhere.example"}),
    ],
)
def test_a_refusal_of_the_gate(door, path, more):
    answer = door.get(path, **GERMAN, **more)
    assert answer.status == 403
    assert [text for text in words(answer.body) if not text.startswith("⟦")] == []


def test_too_much_is_refused_in_the_same_language(door):
    answer = door.post("/sign-in", {"name": "x" * 5000}, **GERMAN)
    assert answer.status == 413
    assert "⟦a name and a PIN take less than 4096 bytes" in answer.body.replace("⟦A", "⟦a")
