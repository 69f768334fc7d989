"""Class: the question comes first, then what the welds show; two stacks side by side; starts."""

import pytest
from page_helpers import box, html, press, tables
from streamlit.testing.v1 import AppTest

from advisor.coupons.rules import ShopRules
from advisor.heat.parameters import Options
from advisor.pages.classroom import side_by_side
from advisor.pages.parts import weld_cache
from advisor.pages.parts.chart_files import About, to_svg
from advisor.teaching.figures import Cell
from advisor.weld.published import Schedule

COARSE = Options(fineness=0.5, steps=60)


@pytest.fixture
def database():
    """The class reads little of a log: the demo shop's, which is always a file."""
    return "sqlite"


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Welds are calculated roughly: what the page does with them is looked at here."""
    monkeypatch.setattr(weld_cache, "WHOLE", COARSE)
    weld_cache._kept.clear()
    yield
    weld_cache._kept.clear()


def at(**address):
    script = "from advisor.pages.shell import run\nrun('class')"
    app = AppTest.from_string(script, default_timeout=60)
    for name, value in {"shop": "demo", **address}.items():
        app.query_params[name] = value
    app.run()
    assert not app.exception
    return app


def flip(app, words, nth=0):
    [each for each in app.toggle if each.label == words][nth].set_value(True).run()
    assert not app.exception


def drawn(app):
    return [each.value for each in app.markdown if "<svg" in each.value]


def said(app):
    return " ".join([html(app), *(each.value for each in app.markdown)])


def by_quantity(table):
    """The lines of a table of figures by what their first cell names."""
    return {next(iter(line.values())): line for line in table}


def captions(app):
    return " ".join(each.value for each in app.caption)


@pytest.fixture
def lessons(folder):
    return at()


def test_only_the_question_is_there_until_it_is_revealed(lessons):
    app = lessons
    assert "How large is B's weld?" in said(app)
    assert drawn(app) == []
    assert "C: " not in html(app)  # the third weld belongs to the answer
    assert not tables(app)


def test_the_guess_is_compared_with_what_was_calculated(lessons):
    app = lessons
    box(app, "The class says").set_value(9.0).run()
    flip(app, "Reveal")
    found = html(app)
    assert "its minimum is 5.06 mm" in found
    assert "too large" in found
    assert len(drawn(app)) == 3
    table = tables(app)[0]
    assert list(table[0]) == ["Weld", "A", "B", "C"]
    sizes, minima = by_quantity(table)["Size [mm]"], by_quantity(table)["Minimum [mm]"]
    assert float(sizes["B"]) < float(minima["B"]) == pytest.approx(5.06)
    assert float(sizes["C"]) > float(minima["C"])
    assert "The minimum grows with the root" in found


def test_without_a_guess_the_answer_comes_all_the_same(folder):
    app = at(lesson="Too little force")
    flip(app, "Reveal")
    assert "The calculation says: only with the low force." in html(app)
    assert "expulsion" in drawn(app)[1]
    assert "expulsion" not in drawn(app)[0]
    thrown = by_quantity(tables(app)[0])["Expulsion [ms]"]
    assert thrown["A"] == "–"
    assert 0 < int(thrown["B"]) < 240


def test_a_chosen_word_is_told_to_be_right_or_not(folder):
    app = at(lesson="A thin sheet on a thick one")
    app.radio[0].set_value(0).run()
    flip(app, "Reveal")
    assert "The class said: in the thin one. The calculation says: in the thick one." in html(app)


def test_the_slider_moves_the_sections_and_play_shows_all_of_them(folder):
    app = at(lesson="Worn caps")
    flip(app, "Reveal")
    late = drawn(app)
    app.slider[0].set_value(20).run()
    early = drawn(app)
    assert early != late
    assert "no melt" in early[0]
    flip(app, "Play")
    assert all("animation-delay" in each for each in drawn(app))


def test_two_stacks_follow_their_published_starts_or_what_is_typed(folder):
    app = at(view="Side by side")
    assert [round(each.value, 1) for each in app.number_input] == [0.8, 0.8, 1.6, 1.6]
    first = tables(app)[0]
    next(t for t in app.toggle if t.label.startswith("Setting follows")).set_value(False).run()
    assert box(app, "Current").value == pytest.approx(6.5)
    box(app, "Current").set_value(3.0).run()
    assert not app.exception
    assert "too small" in str(tables(app)[0])
    assert str(tables(app)[0]) != str(first)


def test_each_interface_has_a_column_of_its_own(folder):
    app = at(view="Side by side")
    app.button_group(key="beside·B·count").set_value(3).run()
    table = tables(app)[0]
    assert list(table[0]) == ["Weld, interface", "A", "B 1", "B 2"]
    lines = by_quantity(table)
    assert set(lines) == {
        "Size [mm]",
        "Minimum [mm]",
        "Against the minimum",
        "First melt [ms]",
        "Hottest [°C]",
        "Expulsion [ms]",
    }
    # 4√t of the thinner sheet: 1.6 on 1.6, and 1.6 on 1.0.
    minimum = [float(lines["Minimum [mm]"][each]) for each in ("B 1", "B 2")]
    assert minimum == pytest.approx([4 * 1.6**0.5, 4.0], abs=0.01)


def test_every_published_start_says_which_columns_it_is_from(log):
    medium, high = (each.label for each in (Schedule.MEDIUM_FORCE, Schedule.HIGH_FORCE))
    for view in ("Lessons", "Side by side"):
        app = at(view=view, shop="")
        assert f"here those of ISO 14373:2015 Table B.1, {medium}" in captions(app), view
    app = at(view="Published starts", shop="")
    assert f"The shop's rules name: {high}. Lessons and Side by side take: {medium}." in captions(
        app
    )
    assert f"B.1, {high}, entered with 0.8 mm" in captions(app)
    assert "Current **8.0 kA**" in said(app)
    pick(app, "Published starts for uncoated steel", medium)
    assert f"B.1, {medium}, entered with 0.8 mm" in captions(app)
    # The same start as side by side.
    assert "Current **6.5 kA**" in said(app)


def test_published_starts_begin_with_the_columns_of_the_shop_s_rules(log):
    log.save_rules(ShopRules(bare_schedule=Schedule.MEDIUM_FORCE), "Sam")
    app = at(view="Published starts", shop="")
    assert "Current **6.5 kA**" in said(app)
    assert f"rules name: {Schedule.MEDIUM_FORCE.label}." in captions(app)


def test_the_window_says_what_each_time_leaves(folder, monkeypatch):
    made = []
    cells = [
        Cell(current, time, 4.0, is_large_enough=current > least, throws_out=current > 8)
        for time, least in ((100.0, 5.5), (200.0, 8.5))
        for current in (5.0, 6.0, 7.0, 8.0, 9.0)
    ]
    monkeypatch.setattr(weld_cache, "cells", lambda *_: cells)
    monkeypatch.setattr(
        side_by_side, "downloads", lambda *given, **more: made.append((given, more))
    )
    app = at(view="Side by side")
    app.session_state["beside-windows"] = True
    app.run()
    assert not app.exception
    (drawing, data, *_), more = made[0]
    assert more["alt_text"].endswith(": 100 ms: 6.0 kA to 8.0 kA; 200 ms: no window")
    svg = to_svg(drawing(), About("A"))
    assert svg.count(b">no window<") == 2  # once more behind it, so that no line runs through it
    assert b"expulsion from here on" in svg
    what = list(data()["what"])
    assert (what[0], what[1], what[4]) == ("smaller than the minimum", "large enough", "expulsion")


def test_an_impossible_stack_says_why_and_keeps_what_was_typed(folder):
    app = at(view="Side by side")
    box(app, "Sheet 1").set_value(0.8).run()
    box(app, "Sheet 2").set_value(3.0).run()
    assert "a ratio of 3.75:1" in " ".join(each.value for each in app.error)
    assert box(app, "Sheet 2").value == 3.0
    assert not drawn(app)
    box(app, "Sheet 2").set_value(1.0).run()
    assert drawn(app)


def pick(app, words, chosen):
    next(each for each in app.selectbox if each.label == words).select(chosen).run()
    assert not app.exception


@pytest.mark.parametrize(
    ("asked", "chosen", "sentence"),
    [
        ("Metal", "press-hardened", "no published start for press-hardened steel"),
        ("Surface", "weld-through primer", "no published start for weld-through primer"),
        ("Between the sheets", "cured", "a cured film insulates and no figure for it exists"),
    ],
)
def test_a_stack_of_which_nothing_is_known_is_refused_in_words(folder, asked, chosen, sentence):
    app = at(view="Side by side")
    pick(app, asked, chosen)
    assert sentence in " ".join(each.value for each in app.error)
    assert not drawn(app)
    assert not tables(app)


def test_where_nothing_is_published_a_typed_setting_is_calculated_if_the_model_knows_the_steel(
    folder,
):
    app = at(view="Side by side")
    pick(app, "Metal", "dual-phase")
    assert not drawn(app)
    next(t for t in app.toggle if t.label.startswith("Setting follows")).set_value(False).run()
    assert len(drawn(app)) == 2
    pick(app, "Metal", "stainless")
    assert "the heat model has no figures for stainless steel" in app.error[0].value
    assert box(app, "Current").value == pytest.approx(6.5)


def test_wet_adhesive_is_calculated_as_if_it_were_not_there_and_that_is_said(folder):
    app = at(view="Side by side")
    bare = str(tables(app)[0])
    pick(app, "Between the sheets", "wet")
    assert str(tables(app)[0]) == bare
    said_of_it = " ".join(each.value for each in app.caption)
    assert "Calculated as if there were no adhesive" in said_of_it


def test_the_class_can_guess_before_two_stacks_are_shown(folder):
    app = at(view="Side by side")
    assert drawn(app)
    flip(app, "Guess first: hide what comes out")
    assert not drawn(app)
    flip(app, "Reveal")
    assert drawn(app)


def test_both_sources_of_the_slopes_stand_beside_each_other(folder):
    app = at(view="Published starts")
    table = tables(app)[-1]
    assert list(table[0]) == ["With", "Believed", "Heat model", "Apart"]
    assert len(table) == 5


def test_a_practice_copy_is_offered_to_who_is_at_the_bench(log):
    app = AppTest.from_string("from advisor.pages.shell import run\nrun('class')")
    app.default_timeout = 60
    app.query_params["who"] = "Sam"
    app.run()
    press(app, "Make a new copy and open it")
    assert "PRACTICE COPY" in html(app)
