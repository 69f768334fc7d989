"""Prints speak the language of whoever makes them; files that programs read stay English."""

import io
from datetime import date

import pytest
from pypdf import PdfReader
from record_makers import CURED, GOOD, MAKER, NOW, WET, checks, joint_entry, pages, record

from advisor.coupons.rules import ShopRules
from advisor.language import speaking
from advisor.record.files import to_csv, to_json
from advisor.record.labels import label_lines
from advisor.record.pdf import job_pdf
from advisor.record.text import is_lossy, printable
from advisor.record.week import RateLine, ReleaseLine, WeekPrinting, WeekSummary, attention
from advisor.record.week_csv import week_csv
from advisor.record.week_pdf import week_pdf

GERMAN = {
    "Weld test and release record": "Prüf- und Freigabeprotokoll für Schweißungen, Öl, Ä Ü, 5 €",
    "State of the log": "„Stand“ der Aufzeichnung – geprüft",
    "root": "Wurzel",
}
BELOW = RateLine("Welder", "Kim", "", 9, 21, 0, 0.3, 0.167, 0.479, None, None, None, "-", True)
RELEASE = ReleaseLine("RO 7", "sill", "gun 1", "9.4 kA", "Robin", NOW, ("#12 rev 1",), False)
WEEK = WeekSummary(
    WeekPrinting("Test shop", "Testford", NOW, "Robin", is_demo=True),
    date(2026, 5, 25),
    date(2026, 6, 1),
    0.925,
    "95 % interval, Wilson",
    rates=(BELOW,),
    releases=(RELEASE,),
    seal="ab" * 32,
)


class _German:
    def gettext(self, message):
        return GERMAN.get(message, message)

    def ngettext(self, one, many, number):
        return one if number == 1 else many


@pytest.fixture
def german(monkeypatch):
    """A catalogue with a few German words."""
    monkeypatch.setattr("advisor.language.catalogue", lambda code: _German())


def in_german(make, *given):
    with speaking("de"):
        return make(*given)


def test_the_print_has_every_letter_of_german_with_decimal_commas(german):
    made = record()
    printed = in_german(job_pdf, made)
    text = " ".join(pages(printed))
    assert GERMAN["Weld test and release record"] in text
    assert "9,4 kA, 180 ms, 2,5 kN" in text
    assert "4,00 mm = 4 x Wurzel 1" in text
    assert not any(map(is_lossy, GERMAN.values()))
    assert PdfReader(io.BytesIO(printed)).root_object["/Lang"] == "de"
    assert PdfReader(io.BytesIO(job_pdf(made))).root_object["/Lang"] == "en"


def test_days_of_the_week_and_shares_are_printed_in_the_language(german):
    text = " ".join(pages(in_german(week_pdf, WEEK)))
    assert "Montag 2026-05-25 to Sonntag 2026-05-31" in text
    assert "92,5 % of judged coupons pass" in text
    assert "30,0 % (16,7 to 47,9 %)" in text


def test_every_sentence_of_a_print_is_looked_up(pseudo):
    text = " ".join(pages(in_german(week_pdf, WEEK)))
    for words in ("Needs attention", "Pass rates", "Purpose", "Target", "Nothing was foretold"):
        assert text.count(words) == text.count(printable(f"⟦{words}")) > 0
    assert in_german(label_lines, GOOD[0], NOW)[-1] == "⟦Job RO 7⟧"


def test_files_that_programs_read_are_the_same_in_every_language(pseudo):
    joints = (
        joint_entry("sill", WET, GOOD, released=True, voided="wrong sheet", checks=checks()),
        joint_entry("pillar", CURED, GOOD, maker=MAKER),
    )
    made = record(joints, is_demo=True, rules=ShopRules(dress_after_welds=120))
    for write, given in ((to_json, made), (to_csv, made), (week_csv, WEEK)):
        assert in_german(write, given) == write(given)


def test_what_needs_attention_is_sorted_by_english_kinds(pseudo):
    found = in_german(attention, WEEK)
    assert [each.kind for each in found] == ["Release open again", "Below target"]
    assert found[1].why == "⟦9 of 30 passed; all of its interval is below 92,5 %⟧"
