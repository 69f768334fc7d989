"""Every sentence is in every catalogue, translated, with the same places and nothing besides."""

import ast
import string
from pathlib import Path

import pytest
import traced
from babel.messages.pofile import read_po

from advisor.language import CATALOGUES, LANGUAGES

ROOT = Path(__file__).resolve().parent.parent
RENEW = "DEVELOPERS.md says how to renew the catalogues"
FILES = {path.stem: path for path in sorted(CATALOGUES.glob("*.po"))}
CODES = sorted(FILES)


@pytest.fixture(scope="module")
def marked():
    """All that the program marks: a text, or a pair for one and for many."""
    return {message for _, message in traced.marked()}


def places(text):
    """Return the places of a text with their formats; a text that has none has an empty set."""
    parsed = string.Formatter().parse(text)
    return {(name, form, conversion) for _, name, form, conversion in parsed if name is not None}


def read(code):
    with FILES[code].open("rb") as file:
        return read_po(file, locale=code)


def test_every_catalogue_is_of_a_language_that_can_be_chosen():
    assert set(CODES) <= set(LANGUAGES)


@pytest.mark.parametrize("code", CODES)
def test_every_sentence_is_there_and_none_is_left_over(code, marked):
    kept = {message.id for message in read(code) if message.id}
    assert marked - kept == set(), RENEW
    assert kept - marked == set(), RENEW


@pytest.mark.parametrize("code", CODES)
def test_every_sentence_is_translated(code):
    for message in read(code):
        texts = [message.string] if isinstance(message.string, str) else list(message.string)
        assert not message.fuzzy or not message.id, message.id
        assert all(text.strip() for text in texts) or not message.id, message.id


@pytest.mark.parametrize("code", CODES)
def test_a_translation_has_the_places_of_the_sentence(code):
    for message in read(code):
        if isinstance(message.id, str):
            assert places(message.string) == places(message.id), message.id
            continue
        allowed = places(message.id[0]) | places(message.id[1])
        for text in message.string:
            assert places(text) <= allowed, message.id


def said_in(path):
    """Return the first literal of every call that says something, wherever in a file it stands."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in traced.KEYWORDS:
            yield from (each.value for each in node.args[:1] if isinstance(each, ast.Constant))


def test_nothing_is_said_where_the_catalogue_does_not_see_it(marked):
    # Inside of an f-string a sentence is not found on every version of Python.
    known = {each if isinstance(each, str) else each[0] for each in marked}
    said = {text for path in (ROOT / "advisor").rglob("*.py") for text in said_in(path)}
    assert len(said) > 1000
    assert said - known == set()


def test_the_first_argument_is_always_a_literal(marked):
    assert len(marked) > 1000
    assert all(marked)
