"""Any text a user may type becomes one that the print can show."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.record.text import ENCODING, MARK, is_lossy, one_line, printable


@pytest.mark.parametrize(
    ("typed", "shown", "lossy"),
    [
        ("plain, Müller, 10 °C, 2 × 3 – “ok” …", "plain, Müller, 10 °C, 2 × 3 – “ok” …", False),
        ("4√1.2", "4 x root 1.2", False),
        ("√t ≥ 5, ≤ 6, ⌀ 4", "root t >= 5, <= 6, dia.  4", False),
        ("Łukasz Žák", "Lukasz Žák", True),
        ("e\u0301", "e", True),
        ("Иван", MARK * 4, True),
        ("hot 🔥\ufe0f!", f"hot {MARK}!", True),
        ("a\u200bb\u202ec", "abc", True),
        ("a\ud83db", f"a{MARK}b", True),
        ("a\x00b\x1cc", f"a{MARK}b{MARK}c", True),
        ("one\ttwo\r\nthree", "one two\nthree", False),
        ("①ﬁ", "1fi", True),
    ],
)
def test_examples(typed, shown, lossy):
    assert printable(typed) == shown
    assert is_lossy(typed) is lossy


@given(st.text(st.characters(exclude_categories=())))
def test_nothing_is_left_that_the_font_lacks(typed):
    shown = printable(typed)
    shown.encode(ENCODING)
    assert not any(ord(each) < 32 for each in shown if each != "\n")
    assert printable(shown) == shown


@given(st.text(), st.integers(2, 30))
def test_one_line_fits(typed, longest):
    line = one_line(typed, longest)
    assert len(line) <= longest
    assert "\n" not in line
