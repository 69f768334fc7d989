"""Every number on every page of the demo shop is a sentence's, a written figure's, or the shop's.

Charts and tables show columns that their makers name; what is looked at here is text.
"""

import re
from contextlib import closing

import pytest
from shown_figures import mark, outside, untraced
from sqlalchemy import create_engine, select
from streamlit.testing.v1 import AppTest
from traced import sentences, trace, tracing

from advisor.heat.parameters import Options
from advisor.language import ENGLISH, figure, say, speaking
from advisor.pages import session
from advisor.pages.classroom.page import VIEWS as CLASS
from advisor.pages.parts import weld_cache
from advisor.pages.review.page import VIEWS as REVIEW
from advisor.store.demo import BY, fill_demo
from advisor.store.log import demo_url, open_log
from advisor.store.practice_bench import make_bench, weld_coupon, work_of
from advisor.store.schema import metadata
from advisor.teaching.lessons import prepared
from advisor.weld.setting import Setting

DEMO, BENCH = {"shop": "demo"}, {"shop": "bench", "who": "Sam"}
#: Numbers that no sentence says: kinds of element, what they look like, where they are from.
UNSAID = (
    (None, r"#\d+", "number of a coupon, counted by the log"),
    (None, r"\d{4}-\d\d-\d\d", "a day of the log"),
    (None, r"\bB\.[12]\b", "name of a published table: iso14373-2015-b1, iso14373-2015-b2"),
    ("Html", r"\b\d+–\d+ %", "steps of the colours of chances: pages.parts.charts.LEVELS"),
    (None, r"\b\d\d? %", "a chance, by percent of cards.py: see the places on screen"),
    ("Markdown", r"^2 mm$", "the scale of a drawn section: as long as it says"),
    ("ButtonGroup", r"^[234]$", "how many sheets a stack may have: weld/stack.py"),
    ("ButtonGroup", r"^[56]0$", "mains frequency to choose from: units.py"),
)


@pytest.fixture
def filled(monkeypatch):
    """What the places of sentences are filled with, from here on."""
    return mark(monkeypatch)


@pytest.fixture
def demo(tmp_path, monkeypatch):
    """The demo shop in a folder of its own; welds are calculated roughly."""
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    monkeypatch.setattr(session, "keep_backed_up", lambda url: None)
    monkeypatch.setattr(weld_cache, "WHOLE", Options(fineness=0.5, steps=60))
    for printed in ("record.job_pdf", "record.labels_pdf"):  # fonts of a print have no marks
        monkeypatch.setattr(f"advisor.pages.parts.{printed}", lambda *given, **more: b"")
    monkeypatch.setattr("advisor.pages.review.week.week_pdf", lambda summary: b"")
    logs = []

    def opening(*arguments, **words):
        logs.append(open_log(*arguments, **words))
        return logs[-1]

    monkeypatch.setattr(session, "open_log", opening)
    with closing(open_log(demo_url())) as log:
        fill_demo(log)
    weld_cache._kept.clear()
    yield
    weld_cache._kept.clear()
    for each in logs:
        each.close()


def at(page, address=DEMO, press=None, **chosen):
    script = f"from advisor.pages.shell import run\nrun({page!r})"
    app = AppTest.from_string(script, default_timeout=60)
    for name, value in address.items():
        app.query_params[name] = value
    for name, value in chosen.items():
        app.session_state[name] = value
    app.run()
    if press:
        next(button for button in app.button if press in button.label).click().run()
    return app


def own_words():
    """Return all texts with digits that the demo shop's log holds, the longest first."""
    engine = create_engine(demo_url())
    with engine.connect() as connection:
        found = [connection.execute(select(each)).all() for each in metadata.tables.values()]
    engine.dispose()
    texts = {cell for rows in found for row in rows for cell in row if isinstance(cell, str)}
    cells = {each for each in texts if re.search(r"\d", each) and re.search(r"[^\W\d_]", each)}
    return sorted(cells, key=len, reverse=True)


def walk():
    """Open every page and view, with what folds away unfolded where it costs little."""
    who = DEMO | {"who": BY}
    for page in ("before", "coupon", "setting", "layout", "shop", "files"):
        yield at(page)
    yield at("before", {})
    yield at("files", {})
    folds = {f"why·joint{n}": True for n in range(1, 9)}
    yield at("setting", who, **folds)
    yield at("coupon", who, **folds)
    for view in REVIEW:
        yield at("review", who, view=view, what="all")
    yield at("review", who, "Make the summary", view="week")
    for view in CLASS:
        yield at("class", who, view=view)
    for lesson in prepared():
        yield at("class", {**who, "lesson": lesson}, **{f"class·reveal·{lesson}": True})
    yield from bench()


def bench():
    with speaking(ENGLISH), closing(open_log(make_bench("Sam", "three", 7))) as log:
        start = work_of(log, "Sam").machine.start
        weld_coupon(log, "Sam", Setting(start.current_kA, start.weld_ms, start.force_kN))
        weld_coupon(log, "Sam", Setting(14.0, start.weld_ms, 1.5))
    yield at("class", BENCH, view="bench", **{"bench·window": True, "bench·read·1": True})


def unsaid(shown, own, used):
    """Return the texts in which digits are left once the shop's words and `UNSAID` are out."""
    for kind, words in sorted(shown):
        left = words
        for each in own:
            left = left.replace(each, "")
        for number, (element, pattern, _) in enumerate(UNSAID):
            if element in (None, kind) and re.search(pattern, left):
                used.add(number)
                left = re.sub(pattern, "", left)
        if re.search(r"\d", left):
            yield kind, left, words


def test_every_number_on_a_page_comes_from_somewhere_that_is_known(demo, filled):
    own, used = own_words(), set()
    left = {each for app in walk() for each in unsaid(untraced(app), own, used)}
    assert left == set()
    assert [pattern for n, (_, pattern, _) in enumerate(UNSAID) if n not in used] == []
    numbers = {(sentence, place) for sentence, place, is_number in filled if is_number}
    assert len(numbers) > 150
    wrong = [
        (place, sentence)
        for sentence, place in numbers
        for module in sentences()[sentence]
        if trace(place, module, tracing()).line["origin"] == "words"
    ]
    assert wrong == [], "a number has gone into a place that is said to hold words"


def test_a_number_that_nobody_said_is_found(filled):
    app = AppTest.from_string(
        """
import streamlit as st
from advisor.language import figure, say
st.write(say("label temperature {low:g} °C", low=21) + f" {figure(4.5, '.1f')} kA")
st.write(f"about {7} welds")
st.html(f'<p title="5 mm">{figure(3)} of 12</p>')
"""
    ).run()
    assert untraced(app) == {("Markdown", "about 7 welds"), ("Html", "5 mm"), ("Html", "  of 12")}
    assert list(unsaid({("Markdown", "Bay 2, 7 welds")}, ["Bay 2"], set())) == [
        ("Markdown", ", 7 welds", "Bay 2, 7 welds")
    ]


def test_marks_keep_the_words_of_a_sentence_and_of_what_goes_into_it(filled):
    said = say("{what} is {low:.1f} to {high}", what=say("time of 5 s"), low=1.25, high="3")
    assert outside(said).split() == ["3"]
    assert ("{what} is {low:.1f} to {high}", "low", True) in filled
    assert ("{what} is {low:.1f} to {high}", "high", False) in filled
    assert outside(figure(0.5, ".0%")) == " "
