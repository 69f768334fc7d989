"""Cells that no spreadsheet calculates, and every text back as it was."""

import csv
import io

import pytest
from exchange_makers import LETTERS
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.csv_cells import guarded, guarded_row, unguarded

SIGNS = "=+-@\t\r＝＋－＠"
ODD = st.text(st.sampled_from("'=+-@\t\r\n 019.eE＝＋－＠\u200b\ufeff\u00a0;,\"x"), max_size=8)


@settings(max_examples=2000)
@given(st.text(LETTERS) | ODD)
def test_every_text_comes_back(text):
    assert unguarded(guarded(text)) == text


@settings(max_examples=500)
@given(st.lists(st.text(LETTERS) | ODD, min_size=1, max_size=4))
def test_every_text_comes_back_through_a_csv_file(texts):
    file = io.StringIO(newline="")
    csv.writer(file).writerow([guarded(text) for text in texts])
    (cells,) = csv.reader(io.StringIO(file.getvalue(), newline=""))
    assert [unguarded(cell) for cell in cells] == texts


@given(st.sampled_from(SIGNS), st.text(LETTERS))
def test_what_begins_like_a_formula_is_guarded_unless_it_is_a_number(sign, rest):
    cell = guarded(sign + rest)
    if cell[:1] != "'":
        assert sign in "+-"
        assert float(cell) == float(sign + rest)


@given(
    st.text("'", max_size=3),
    st.text(" \u200b\u00a0\ufeff", max_size=3),
    st.sampled_from("=@"),
    st.text(LETTERS),
)
def test_blanks_and_apostrophes_in_front_hide_no_formula(guards, blanks, sign, rest):
    text = guards + blanks + sign + rest
    assert guarded(text) == "'" + text


@given(st.floats(allow_nan=False, allow_infinity=False) | st.integers())
def test_numbers_stay_numbers(number):
    assert guarded(repr(number)) == repr(number)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("", ""),
        ("sill", "sill"),
        ("'sill'", "'sill'"),
        ("=1+1", "'=1+1"),
        ("'=1+1", "''=1+1"),
        ("-", "'-"),
        ("-5", "-5"),
        ("'-5", "'-5"),
        ("-5 kA", "'-5 kA"),
        ("+49 30 1234", "'+49 30 1234"),
        ("＝x", "'＝x"),
        ("-５", "'-５"),
        ("\tx", "'\tx"),
    ],
)
def test_examples(text, cell):
    assert guarded(text) == cell
    assert unguarded(cell) == text


def test_a_whole_row():
    assert guarded_row({"a": -0.5, "b": "=x", "c": None}) == {"a": "-0.5", "b": "'=x", "c": "None"}
