"""Each lesson's welds show what its point says; nothing of an answer is written down."""

from dataclasses import replace

import pytest

from advisor.errors import InputError
from advisor.heat.parameters import Options
from advisor.heat.properties import BOILING_DEGC
from advisor.language import catalogue
from advisor.teaching.figures import figures, growth, window
from advisor.teaching.lesson import SizeGuess, WordGuess
from advisor.teaching.lessons import lesson, prepared
from advisor.teaching.words import source_words

COARSE = Options(fineness=0.6, steps=100, frames=4)
KEYS = ("thickness", "zinc", "unequal", "three", "worn", "force", "shunting")


@pytest.fixture(scope="module")
def shown():
    """The welds of every lesson, calculated once."""
    return {key: [each.run(COARSE) for each in lesson(key).welds] for key in KEYS}


def sizes(welds):
    return [weld.diameters_mm[0] for weld in welds]


def test_the_lessons_are_the_seven_and_another_is_refused():
    assert tuple(prepared()) == KEYS
    with pytest.raises(InputError, match="no lesson called 'arc'; there are: thickness, zinc"):
        lesson("arc")


def test_no_weld_of_a_lesson_boils(shown):
    hottest = {key: max(weld.hottest_degC for weld in welds) for key, welds in shown.items()}
    hottest.pop("force")  # metal leaves long before it is as hot as this
    assert {key for key, degC in hottest.items() if degC >= BOILING_DEGC} == set()


def test_twice_the_thickness_at_the_same_setting_stays_below_its_minimum(shown):
    first, second, third = (
        figures(each, weld)[0]
        for each, weld in zip(lesson("thickness").welds, shown["thickness"], strict=True)
    )
    assert first.is_large_enough
    assert not second.is_large_enough
    assert third.is_large_enough
    assert second.minimum_mm == pytest.approx(2**0.5 * first.minimum_mm, abs=0.01)


def test_more_current_alone_throws_metal_out_before_the_thick_sheets_reach_their_target():
    thick = lesson("thickness").welds[1]
    strong = replace(thick.setting, current_kA=1.4 * thick.setting.current_kA)
    weld = replace(thick, setting=strong).run(COARSE)
    assert weld.expulsion is not None
    assert weld.diameters_mm[0] < 5 * 1.6**0.5


def test_zinc_melts_later_and_ends_smaller_at_the_same_setting(shown):
    bare, zinc = (
        figures(each, weld)[0]
        for each, weld in zip(lesson("zinc").welds, shown["zinc"], strict=True)
    )
    assert zinc.size_mm < bare.size_mm
    assert zinc.first_melt_ms > bare.first_melt_ms


def test_more_of_the_melt_lies_in_the_thick_sheet(shown):
    guess = lesson("unequal").guess
    assert guess.right(shown["unequal"]) == 1
    assert guess.compared(shown["unequal"], 1).startswith("The class was right: in the thick one")
    assert "The class said: half in each. The calculation says" in guess.compared(
        shown["unequal"], 2
    )


def test_the_weld_at_the_thin_outer_sheet_is_smaller_and_hardly_enters_it(shown):
    thin, thick = figures(lesson("three").welds[0], shown["three"][0])
    assert lesson("three").guess.right(shown["three"]) == 0
    assert thin.size_mm < 0.9 * thick.size_mm
    outer, middle, inner = shown["three"][0].penetration
    assert outer < 0.6 * min(middle, inner)


def test_worn_caps_and_a_near_weld_make_the_weld_smaller(shown):
    for key in ("worn", "shunting"):
        first, second = sizes(shown[key])
        assert second < 0.97 * first, key


def test_half_the_force_throws_metal_out_and_the_whole_does_not(shown):
    usual, weak = shown["force"]
    assert usual.expulsion is None
    assert weak.expulsion is not None
    assert lesson("force").guess.right(shown["force"]) == 1


def test_a_weld_that_lost_metal_is_calculated_on_as_if_whole_and_the_lesson_says_so(shown):
    weak = shown["force"][1]
    lost = weak.times_ms <= weak.expulsion.time_ms
    assert weak.times_ms[-1] == pytest.approx(lesson("force").welds[1].setting.weld_ms)
    assert weak.diameters_mm[0] > weak.nugget_mm[lost, 0].max()
    assert "goes on as if nothing had left" in " ".join(lesson("force").point)


@pytest.mark.parametrize("key", KEYS)
def test_a_lesson_asks_for_something_its_welds_have(shown, key):
    found = lesson(key)
    assert found.question.endswith("?")
    if isinstance(found.guess, SizeGuess):
        assert found.guess.answer_mm(shown[key]) > 0
    else:
        assert isinstance(found.guess, WordGuess)
        assert 0 <= found.guess.right(shown[key]) < len(found.guess.options)
    assert source_words(found.sources).startswith("Sources: ")


def test_a_lesson_that_would_show_otherwise_says_so(shown):
    """The answer is read off the welds: with the welds turned round it turns round."""
    assert lesson("force").guess.right(shown["force"][::-1]) == 2
    assert lesson("worn").guess.answer_mm(shown["worn"][::-1]) == sizes(shown["worn"])[0]


def test_size_against_time_never_falls_and_ends_at_the_size(shown):
    rows = growth(["A", "B"], shown["worn"])
    for name, weld in zip("AB", shown["worn"], strict=True):
        mine = [row["size_mm"] for row in rows if row["weld"] == name]
        assert mine == sorted(mine)
        assert mine[-1] == weld.diameters_mm[0]
        assert len(mine) < 120


def test_the_window_is_closed_by_small_welds_on_one_side_and_by_metal_out_on_the_other():
    cells = window(lesson("worn").welds[0])
    weakest = [cell for cell in cells if cell.current_kA == min(c.current_kA for c in cells)]
    strongest = [cell for cell in cells if cell.current_kA == max(c.current_kA for c in cells)]
    assert not any(cell.is_large_enough for cell in weakest)
    assert any(cell.throws_out for cell in strongest)
    assert any(cell.is_large_enough and not cell.throws_out for cell in cells)
    for time in {cell.weld_ms for cell in cells}:
        row = [cell.size_mm for cell in cells if cell.weld_ms == time]
        assert row == sorted(row)


def test_english_has_no_catalogue_and_needs_none():
    assert catalogue("en").gettext("Thicker sheets") == "Thicker sheets"
