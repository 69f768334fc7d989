"""Which texts are stored: none that a database or a file would refuse."""

import pytest
from exchange_makers import LETTERS
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.text_rules import LONGEST_TEXT, check_text
from advisor.weld.sheet import Sheet


@given(st.text(LETTERS))
def test_every_text_that_utf_8_can_hold_is_taken(text):
    check_text(text, "note")


@given(st.text(LETTERS), st.text(LETTERS), st.sampled_from("\0\ud800\udbff\udc00\udfff"))
def test_a_letter_that_no_file_holds_is_named_with_its_place(before, after, bad):
    words = rf"^note holds a letter .* \(code {ord(bad):04X}, letter {len(before) + 1}\); type it"
    with pytest.raises(InputError, match=words):
        check_text(before + bad + after, "note")


def test_a_text_may_be_so_long_and_no_longer():
    check_text("x" * 20, "job", 20)
    with pytest.raises(InputError, match="job has 21 letters; at most 20 are kept: shorten it"):
        check_text("x" * 21, "job", 20)
    with pytest.raises(InputError, match="at most 50,000 are kept"):
        check_text("é" * (LONGEST_TEXT + 1), "job")


def test_a_grade_is_looked_at_before_it_disappears_in_the_body_of_a_stack():
    with pytest.raises(InputError, match="grade holds a letter that cannot be stored"):
        Sheet(1.2, grade="DX\0")
