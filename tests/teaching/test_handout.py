"""The hand-out, read back."""

import io
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PIL import Image
from pypdf import PdfReader

from advisor.teaching.adhesive import CURED, EVIDENCE, NO_NUMBER, WET
from advisor.teaching.handout import HandOut, hand_out_pdf

SHEET = HandOut(
    "Worn caps",
    "How large is the weld now?",
    ("A: freshly dressed", "B: worn"),
    ("Weld", "Size"),
    (("A", "5.07 mm"), ("B", "4.64 mm")),
    ("The current spreads over a larger face.",),
    "Sources: heat model.",
    datetime(2026, 11, 26, 8, 0, tzinfo=UTC),
)


def png(width=200, height=100):
    made = io.BytesIO()
    Image.new("RGB", (width, height), "white").save(made, "PNG")
    return made.getvalue()


@pytest.fixture(scope="module")
def read():
    return PdfReader(io.BytesIO(hand_out_pdf(SHEET, [png(), png(220)], mark="INVENTED")))


def text(read):
    return " ".join(" ".join(page.extract_text() for page in read.pages).split())


def test_it_asks_first_leaves_room_and_gives_the_figures_and_the_point(read):
    found = text(read)
    places = [
        found.index(words)
        for words in ("How large is the weld now?", "My guess", "5.07 mm", "The current spreads")
    ]
    assert places == sorted(places)


def test_it_says_that_nothing_was_measured_and_who_comes_first(read):
    found = text(read)
    for words in ("nothing here was measured", "INVENTED", "repair procedure", "pacemaker"):
        assert words in found


def test_it_has_a_picture_a_weld_and_fits_two_pages(read):
    assert sum(len(page.images) for page in read.pages) == 2
    assert len(read.pages) <= 2


def test_two_welds_of_two_interfaces_keep_every_figure():
    heads = ("Weld, interface", "A 1", "A 2", "B 1", "B 2")
    lines = (("Against the minimum", *["large enough, but expulsion"] * 4), ("Size [mm]", *"1234"))
    sheet = replace(SHEET, heads=heads, lines=lines)
    found = text(PdfReader(io.BytesIO(hand_out_pdf(sheet, [png(), png()]))))
    assert found.replace(" ", "").count("butexpulsion") == 4
    assert "Size [mm] 1 2 3 4" in found


def test_a_comparison_without_question_leaves_no_room_for_a_guess():
    plain = HandOut("Beside", "", ("A: x",), ("Weld",), (("A",),), (), "", SHEET.made_at)
    assert "My guess" not in text(PdfReader(io.BytesIO(hand_out_pdf(plain, [png()]))))


def test_adhesive_is_told_in_words_with_no_setting_of_ours():
    """Facts: Materials 2018, 11(10), 1828 for wet epoxy; no published number exists."""
    sentences = [*WET, *CURED, *EVIDENCE, NO_NUMBER]
    assert not [each for each in sentences if any(unit in each for unit in (" kA", " ms", " kN"))]
    assert "no number" in " ".join(CURED)
    assert "wet joints only" in EVIDENCE[0]
