"""A person's language: chosen on the page and kept with them; else what the browser asks for."""

import pytest
import streamlit as st
from page_helpers import opened

from advisor.language import ENGLISH, language, speaking
from advisor.pages import spoken

BEFORE = "⟦Before welding⟧"


@pytest.fixture
def database():
    """In which language a page speaks does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def german(tmp_path, pseudo, monkeypatch):
    """A program with a German catalogue, whose sentences stand in ⟦⟧."""
    folder = tmp_path / "languages"
    folder.mkdir()
    (folder / "de.po").touch()
    monkeypatch.setattr(spoken, "CATALOGUES", folder)


@pytest.fixture
def browser(monkeypatch):
    """The first language of the browser that opens a page."""

    def first(locale):
        monkeypatch.setattr(type(st.context), "locale", property(lambda _: locale))

    return first


def choice(app):
    return [group for group in app.button_group if group.label in ("Language", "⟦Language⟧")]


def person(app):
    return app.menu_button[0]


def choose(app, code):
    """Choose a language; what a test sends back is worked out here, in the language of before."""
    with speaking("de" if choice(app)[0].label.startswith("⟦") else ENGLISH):
        choice(app)[0].set_value(code).run()
    assert not app.exception


def test_without_a_second_catalogue_there_is_nothing_to_choose(log, tmp_path, monkeypatch, browser):
    monkeypatch.setattr(spoken, "CATALOGUES", tmp_path / "none")
    browser("de-DE")
    app = opened("before")
    assert app.title[0].value == "Before welding"
    assert not choice(app)


@pytest.mark.parametrize(
    ("locale", "title"),
    [
        ("de-AT", BEFORE),
        ("en-GB", "Before welding"),
        ("fr", "Before welding"),
        (None, "Before welding"),
    ],
)
def test_at_first_the_browser_says_which(log, german, browser, locale, title):
    browser(locale)
    assert opened("before").title[0].value == title


def test_what_is_chosen_is_kept_with_the_person(log, german, browser):
    browser("en-GB")
    app = opened("before")
    choose(app, "de")
    assert app.title[0].value == BEFORE
    assert log.preferences("Sam")["language"] == "de"
    again = opened("before")
    assert again.title[0].value == BEFORE
    choose(again, ENGLISH)
    assert again.title[0].value == "Before welding"
    assert log.preferences("Sam")["language"] == ENGLISH


def test_the_units_stay_when_the_language_changes(log, german, browser):
    browser("en-GB")
    app = opened("before")
    next(g for g in app.button_group if g.label == "Lengths").set_value("in").run()
    choose(app, "de")
    assert log.preferences("Sam")["unit_length"] == "in"
    assert log.preferences("Sam")["language"] == "de"


def test_the_next_person_reads_their_own_language(log, german, browser):
    browser("en-GB")
    log.add_welder("Kim", "Sam")
    log.save_preferences("Kim", {"language": "de"})
    app = opened("before")
    assert app.title[0].value == "Before welding"  # nobody has said who they are
    person(app).set_value("Kim").run()
    assert app.title[0].value == BEFORE
    with speaking("de"):
        person(app).set_value("Sam").run()
    assert app.title[0].value == "Before welding"


def test_a_language_that_is_no_longer_there_is_english(log, tmp_path, monkeypatch, browser):
    log.save_preferences("Sam", {"language": "de"})
    monkeypatch.setattr(spoken, "CATALOGUES", tmp_path / "none")
    browser("en-GB")
    assert opened("before").title[0].value == "Before welding"


def test_outside_of_a_page_nobody_knows():
    assert spoken.spoken_here() is None
    assert language() == ENGLISH


@pytest.mark.parametrize(
    ("header", "code"),
    [
        ("de", "de"),
        ("de-AT,de;q=0.9,en;q=0.8", "de"),
        ("en-GB, de;q=0.9", "en"),
        ("fr, de;q=0.4, en;q=0.7", "en"),
        ("fr;q=1, DE-ch;q=0.5", "de"),
        ("de;q=0", "en"),
        ("", "en"),
        ("*", "en"),
        ("de;q=x, ;;,", "en"),
        ("../../de", "en"),
        ("x" * 100_000 + ",de", "en"),
    ],
)
def test_a_header_is_read_by_weight(german, header, code):
    assert spoken.of_header(header) == code
