"""Texts that a page might run: every page opens, and is given each of them as a text."""

import re
import shutil
from datetime import UTC, datetime
from html import escape

import pytest
from hostile_texts import HTML, MARKDOWN, SQL, TEXTS, as_name, enter, start
from hypothesis import given
from hypothesis import strategies as st
from page_helpers import told
from streamlit.testing.v1 import AppTest

from advisor.pages.parts.plain import closed, plain
from advisor.pages.review.page import VIEWS
from advisor.pages.shell import PAGES
from advisor.store.log import open_log

JOB = "# job <script>window.hacked=1</script> **bold**"
HERE = (*HTML, *MARKDOWN, SQL[0], SQL[2])
#: What would be read as something else if it stood anywhere as it is.
AS_MARKDOWN = {
    text for text in (*map(as_name, HERE), *HERE, JOB) if plain(f"x {text}") != f"x {text}"
}
AS_HTML = {text for text in (*map(as_name, HERE), *HERE, JOB) if escape(text) != text}
ODD = st.text(st.sampled_from("\\`*_[]<>$~|&:#+-=!.)1a @/w\u202e\u2067\u202c\u2069"), max_size=12)
WITHOUT_WIDTH = dict.fromkeys(
    map(ord, "\u2060\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
)

#: What a page makes of a text has nothing to do with the database.
in_a_file = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A log in a file with every text in every field, its joints in one job."""
    path = tmp_path_factory.mktemp("hostile") / "log.sqlite"
    log = start(open_log(f"sqlite:///{path}"))
    for text in HERE:
        enter(log, text, datetime.now(UTC), JOB)
    log.close()
    return path


@pytest.fixture
def shop(folder, written):
    shutil.copy(written, folder / "log.sqlite")
    return open_page


def open_page(page, **asked):
    script = f"from advisor.pages.shell import run\nrun({page!r})"
    app = AppTest.from_string(script, default_timeout=60)
    for name, value in asked.items():
        app.query_params[name] = value
    return checked(app.run())


def checked(app):
    """Return an app all of whose elements are given texts as texts."""
    assert not app.exception
    for body in (each.body for each in app.get("html")):
        assert [text for text in AS_HTML if text in body] == []
    for element in elements(app.main):
        for said in read_as_markdown(element):
            assert [text for text in AS_MARKDOWN if text in said] == [], said
    return app


def elements(block):
    for child in getattr(block, "children", {}).values():
        yield child
        yield from elements(child)


def read_as_markdown(element):
    kind = element.type
    if kind in ("markdown", "caption", "error", "warning", "info", "success", "toast", "title"):
        yield element.value
    if kind not in ("html", "text", "download_button"):
        yield str(getattr(element, "label", "") or "")
    if kind == "popover":
        yield element.proto.popover.label
    if kind in ("radio", "button_group"):
        yield from map(str, element.options)


@in_a_file
@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("who", [HTML[0], MARKDOWN[0]])
def test_every_page_opens(shop, page, who):
    app = shop(page, who=who)
    assert "window.hacked" in " ".join(each.body for each in app.get("html"))


@in_a_file
@pytest.mark.parametrize("words", [words for words, _ in VIEWS.values()])
def test_every_view_of_the_review_opens(shop, words):
    for by in ("Welder", "Machine", "Stack", "Stack family"):
        shop("review", view=words, by=by, what="all coupons", who=as_name(HERE[0]))
        if words != "Pass rates":
            break


@in_a_file
def test_every_joint_of_a_job_is_shown(shop):
    app = shop("before")
    handfuls = next(each for each in app.selectbox if each.label.endswith("joints; shown are"))
    for start_at in range(len(handfuls.options)):
        handfuls.select_index(start_at)
        checked(app.run())


@in_a_file
def test_every_joint_can_be_welded_for(shop):
    app = shop("coupon")
    (joints,) = (each for each in app.selectbox if each.label == "For which joint?")
    for place in range(0, len(joints.options) - 1, 2):
        next(each for each in app.selectbox if each.label == "For which joint?").select_index(place)
        checked(app.run())


@in_a_file
@pytest.mark.parametrize("text", [*HTML[:3], *MARKDOWN[:4]])
def test_a_refusal_shows_what_was_typed_as_a_text(shop, text):
    app = shop("shop", who=HTML[0])
    next(each for each in app.text_input if each.label == "Name of a new person").set_value(text)
    next(each for each in app.button if each.label == "Add").click()
    checked(app.run())
    assert any(
        plain(as_name(text)) in plain(as_name(said)) or plain(text) in said for said in told(app)
    )


@in_a_file
@pytest.mark.parametrize(
    "asked",
    [
        {"who": "'; DROP TABLE welder; --"},
        {"shop": "<script>"},
        {"joint": "9" * 5000},
        {"joint": "²"},
    ]
    + [{"joint": text} for text in TEXTS[:4]],
)
def test_an_address_that_nobody_gave_out_opens_the_page(shop, asked):
    app = shop("coupon", **asked)
    assert app.title[0].value == "Log a coupon"


@given(st.text() | ODD | st.sampled_from(TEXTS))
def test_plain_text_is_the_text_letter_for_letter(text):
    said = re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", plain(text))
    assert as_name(said.translate(WITHOUT_WIDTH)) == as_name(text.translate(WITHOUT_WIDTH))


@pytest.mark.parametrize(
    "text",
    [
        "1.2 + 1.0 mm, wet",
        "4.4 mm is below 4.6 mm: weld again",
        "12:30, 9.5 kA",
        "a_b (c) - d; 5 %",
    ],
)
def test_an_ordinary_sentence_stays_as_it_is(text):
    assert plain(text) == text


@pytest.mark.parametrize(
    ("text", "turned_back"),
    [
        ("\u202eab", "\u202eab\u202c"),
        ("\u2067\u202aab", "\u2067\u202aab\u202c\u2069"),
        ("ab", "ab"),
    ],
)
def test_the_direction_of_writing_ends_with_the_text(text, turned_back):
    assert closed(text) == turned_back
    assert closed(turned_back) == turned_back
