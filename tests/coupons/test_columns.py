"""Words for the columns, and guesses for foreign ones."""

import pytest

from advisor.coupons.columns import guess_map, title, words_of
from advisor.coupons.flat import COLUMNS
from advisor.weld.failure import FailureType
from advisor.weld.sheet import Surface


def test_every_column_has_words_of_its_own():
    titles = [title(name) for name in COLUMNS]
    assert len(set(titles)) == len(COLUMNS)
    assert not any("_" in words for words in titles)


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("sheet2_thickness_mm", "Sheet 2, thickness"),
        ("interface1_largest_mm", "Interface 1, largest ⌀"),
        ("squeeze_ms", "Squeeze"),
        ("bond1_state", "Bond 1, state"),
    ],
)
def test_titles(target, words):
    assert title(target) == words


def test_closed_lists():
    assert words_of("interface2_failure") is FailureType
    assert words_of("sheet1_upper") is Surface
    assert words_of("notes") is None


def test_a_foreign_header_is_guessed_with_its_units():
    header = ["Sample", "I [A]", "Weld current (A)", "Time (cycles)", "Force (lbf)"]
    header += ["t1 thickness in", "t2 thickness in", "Nugget diameter (mm)", "Remark"]
    found = guess_map(header)
    assert {target: (f.column, f.unit) for target, f in found.items()} == {
        "sheet1_thickness_mm": ("t1 thickness in", "in"),
        "sheet2_thickness_mm": ("t2 thickness in", "in"),
        "current_kA": ("Weld current (A)", "A"),
        "weld_ms": ("Time (cycles)", "cycle"),
        "force_kN": ("Force (lbf)", "lbf"),
        "interface1_largest_mm": ("Nugget diameter (mm)", "mm"),
    }


def test_a_name_that_says_no_unit_is_read_in_ours():
    assert guess_map(["current"])["current_kA"].unit == "kA"
    assert guess_map(["colour", "smell"]) == {}
