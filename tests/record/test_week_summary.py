"""The summary of a week: what stands out first, every line in print and CSV, the same in both."""

import csv
import io
import re
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest
from hostile_texts import FORMULAS, TEXTS
from hypothesis import given
from hypothesis import strategies as st
from record_makers import NOW, pages

from advisor.csv_cells import guarded, unguarded
from advisor.errors import InputError
from advisor.record.job_record import INVENTED, PRACTICE, software_version
from advisor.record.text import printable
from advisor.record.week import (
    NO_COUPONS,
    SECTIONS,
    CauseLine,
    CouponCounts,
    DressingLine,
    DriftLine,
    ExpiringLine,
    MissingLine,
    RateLine,
    ReleaseLine,
    VoidLine,
    WeekPrinting,
    WeekSummary,
    attention,
    week_of,
)
from advisor.record.week_csv import COLUMNS, week_csv
from advisor.record.week_pdf import LOSSY_HERE, NOTHING_EVIDENT, week_pdf
from advisor.weld.cautions import OUTRANKS

SETTING = "9.4 kA, 180 ms, 2.5 kN, squeeze 310 ms, hold 210 ms, 1 pulse"
SEAL = "ab" * 32
PRINTING = WeekPrinting("Test shop", "Testford", NOW, "Robin")
KIM = RateLine(
    *("Welder", "Kim", "first", 9, 21, 2, 0.3, 0.167, 0.479, 0.41, 0.27, 0.561, "below target"),
    is_below=True,
)
LEE = RateLine(
    "Welder", "Lee", "first", 1, 0, 0, 1.0, 0.207, 1.0, 0.72, 0.4, 0.93, "too few to say"
)
NEW = RateLine("Welder", "Sam", "", 0, 0, 3, None, 0.0, 1.0, None, None, None, "nothing judged yet")
GUN = RateLine(
    "Machine", "gun 1", "first", 10, 21, 2, 0.323, 0.186, 0.95, None, None, None, "too few to say"
)
STANDING = ReleaseLine(
    "RO 7", "sill", "gun 1", SETTING, "Robin", NOW, ("#12 rev 1", "#11 rev 2"), True
)
REOPENED = ReleaseLine(
    "RO 8",
    "pillar",
    "gun 2",
    "7.7 kA, 120 ms, 2.1 kN",
    "Kim",
    NOW,
    ("#9 rev 1",),
    False,
    ("coupon #9 was voided: wrong sheet",),
)
FULL = WeekSummary(
    PRINTING,
    date(2026, 5, 25),
    date(2026, 6, 1),
    0.9,
    "95 % interval, Wilson",
    CouponCounts(10, 21, 5, 1),
    (KIM, LEE, NEW, GUN),
    (CauseLine("below the minimum size", 15, 15 / 21), CauseLine("expulsion", 8, 8 / 21)),
    (
        DriftLine("gun 2", "dome 6 mm", "sizes fall", ("0.3 mm in a week.", "#40 to #48."), True),
        DriftLine("gun 1", "dome 6 mm", "steady", ("No signal in 30 coupons.",), False),
    ),
    (STANDING, REOPENED),
    (
        VoidLine(9, NOW, "Lee", "wrong sheet", ("RO 8 · pillar", "RO 3 · rail")),
        VoidLine(10, NOW, "Lee", "slip"),
    ),
    (
        MissingLine(
            "RO 9",
            "rear sill",
            "missing",
            "bonded-joint test missing",
            "0 of 2 passing coupons.",
            "weld 2",
        ),
        MissingLine(
            "RO 8",
            "pillar",
            "missing",
            "bonded-joint test missing",
            "1 of 2 passing coupons.",
            "weld 1 more",
        ),
        MissingLine("RO 9", "bracket", "expired", "test expired", "Weld 2 new ones."),
    ),
    (ExpiringLine("RO 7", "sill", NOW + timedelta(days=2), ("#11", "#12")),),
    (
        DressingLine("gun 2", 220, 200, "20 welds more than the limit of 200", True),
        DressingLine("gun 1", None, None, "no count is kept", False),
    ),
    ("Said 92 %, seen 85 % (78 to 90 %) of 120: too sure.",),
    SEAL,
)
EMPTY = WeekSummary(PRINTING, *week_of(date(2026, 5, 27)), 0.9, "95 % interval, Wilson")


def rows(summary):
    return list(csv.DictReader(io.StringIO(week_csv(summary).decode(), newline="")))


def whole(summary):
    return " ".join(pages(week_pdf(summary)))


def told(summary, section, quantity):
    """Return the values of one quantity of a section, in the order of its lines."""
    found = [r for r in rows(summary) if (r["section"], r["quantity"]) == (section, quantity)]
    return [unguarded(row["value"]) for row in found]


@pytest.fixture(scope="module")
def printed():
    return pages(week_pdf(FULL))


@pytest.mark.parametrize(
    "words",
    [
        # the head
        "Summary of the week",
        "Test shop, Testford",
        "Monday 2026-05-25 to Sunday 2026-05-31, 7 days; days begin at midnight UTC Printed",
        "2026-06-03 14:30 by Robin; all times UTC+02:00",
        "37 welded: 10 pass, 21 fail, 5 not yet judged, 1 voided",
        "Releases 2: 1 stand, 1 open again",
        "90 % of judged coupons pass; 95 % interval, Wilson",
        # rates
        "Kim first 9 of 30 30.0 % (16.7 to 47.9 %) 41.0 % (27.0 to 56.1 %) 2 below target",
        "Lee first 1 of 1 100.0 % (20.7 to 100.0 %) 72.0 % (40.0 to 93.0 %) 0 too few to say",
        "Sam 0 of 0 – – 3 nothing judged yet",
        "gun 1 first 10 of 31 32.3 % (18.6 to 95.0 %) – 2 too few to say",
        # the other parts
        "below the minimum size 15 71.4 %",
        "gun 2, dome 6 mm DRIFTING sizes fall 0.3 mm in a week. #40 to #48.",
        "gun 1, dome 6 mm not evidently drifting steady No signal in 30 coupons.",
        f"proven setting of #12 rev 1, #11 rev 2: {SETTING}",
        "no longer to be used; was the proven setting of #9 rev 1: 7.7 kA, 120 ms, 2.1 kN",
        "OPEN AGAIN: coupon #9 was voided: wrong sheet",
        "#9 2026-06-03 14:30 by Lee wrong sheet RO 8 · pillar; RO 3 · rail",
        "#10 2026-06-03 14:30 by Lee slip no release",
        "RO 9 rear sill missing bonded-joint test missing 0 of 2 passing coupons.",
        "RO 9 bracket expired test expired Weld 2 new ones.",
        "RO 7 sill 2026-06-05 14:30 #11, #12",
        "gun 2 220 200 OVERDUE 20 welds more than the limit of 200",
        "gun 1 not written down not written down not overdue no count is kept",
        "Said 92 %, seen 85 % (78 to 90 %) of 120: too sure.",
        f"State of the log: {SEAL}",
    ],
)
def test_print_holds_every_item(printed, words):
    assert words in " ".join(printed)


def test_page_one_says_what_needs_attention_and_nothing_doubtful(printed):
    first = printed[0].partition("Needs attention ")[2].partition(" Pass rates ")[0]
    assert first == (
        "Release open again RO 8, pillar: coupon #9 was voided: wrong sheet; weld 1 more "
        "Evidence voided Coupon #9: voided, but released on it: RO 3 · rail "
        "Drifting gun 2, dome 6 mm: sizes fall "
        "Below target Welder Kim, first: 9 of 30 passed; all of its interval is below 90 % "
        "Dressing overdue gun 2: 20 welds more than the limit of 200 "
        "Bonded-joint test missing RO 9, rear sill: weld 2"
    )


def test_one_release_is_told_once_with_all_that_is_about_it():
    void = replace(FULL.voided[0], used_in_release=("RO 8 · pillar",))
    found = attention(replace(FULL, voided=(void,)))
    assert [each.kind for each in found if "pillar" in each.what] == ["Release open again"]
    assert "Evidence voided" not in [each.kind for each in found]
    assert [each.job for each in found if each.job] == ["RO 8", "RO 9"]


def test_a_joint_that_lacks_its_test_says_what_to_do_where_nobody_made_it_short():
    long = replace(FULL.missing[0], short="")
    (found,) = attention(replace(EMPTY, missing=(long,)))
    assert found.why == "0 of 2 passing coupons."


def test_what_is_not_evident_is_not_held_against_anybody():
    one = replace(LEE, passed=0, failed=1, raw_rate=0.0, raw_low=0.0, raw_high=0.793)
    again = replace(REOPENED, reopened=(), followed_by="Kim, 2026-05-29")
    assert attention(replace(EMPTY, rates=(one,), releases=(again,))) == ()
    assert "RELEASED ANEW: Kim, 2026-05-29" in whole(replace(EMPTY, releases=(again,)))


def test_attention_stays_on_page_one_however_much_there_is():
    wide = "W" * 300
    many = replace(
        FULL,
        printing=replace(PRINTING, is_demo=True),
        rates=(replace(KIM, name=wide),) * 30,
        drift=(replace(FULL.drift[0], machine=wide, headline=wide),) * 30,
        releases=(replace(REOPENED, joint=wide, reopened=(wide,)),) * 30,
        voided=(replace(FULL.voided[0], used_in_release=(wide,)),) * 30,
        missing=(replace(FULL.missing[0], joint=wide),) * 30,
        dressing=(replace(FULL.dressing[0], machine=wide, words=wide),) * 30,
    )
    first = pages(week_pdf(many))[0]
    assert first.count("and 27 more, 30 in all: see ") == 6
    assert "see Joints without their coupons." in first


def test_an_empty_week_says_so_in_every_part():
    text = whole(EMPTY)
    assert NOTHING_EVIDENT in text
    assert "0 welded: 0 pass, 0 fail, 0 not yet judged, 0 voided" in text
    assert [each.nothing for each in SECTIONS.values() if each.nothing not in text] == []
    assert "State of the log" not in text
    found = {r["section"]: r["note"] for r in rows(EMPTY) if r["quantity"] == "nothing"}
    assert {name: found.get(name) for name in SECTIONS} == {
        name: each.nothing for name, each in SECTIONS.items()
    }


def test_every_part_of_the_summary_has_its_place():
    parts = [f.name for f in fields(WeekSummary) if f.default == ()]
    assert parts == list(SECTIONS)


def test_every_page_says_whose_when_n_of_m_and_who_comes_first(printed):
    assert len(printed) > 1
    for number, text in enumerate(printed, start=1):
        assert text.startswith("Test shop Week 2026-05-25 to 2026-05-31 ")
        assert f"Printed 2026-06-03 14:30 UTC+02:00 · {software_version()}" in text
        assert f"Page {number} of {len(printed)}" in text
        assert OUTRANKS in text


@pytest.mark.parametrize(("which", "mark"), [("is_demo", INVENTED), ("is_copy", PRACTICE)])
def test_no_page_and_no_row_is_without_its_mark(printed, which, mark):
    marked = replace(FULL, printing=replace(PRINTING, **{which: True}))
    found = pages(week_pdf(marked))
    assert len(found) > 1
    assert all(text.startswith(mark) for text in found)
    assert {row["mark"] for row in rows(marked)} == {mark}
    assert mark not in " ".join(printed)
    assert {row["mark"] for row in rows(FULL)} == {""}


def test_a_setting_never_stands_without_the_coupons_that_prove_it():
    bare = replace(FULL, releases=(replace(STANDING, coupons=()),))
    for text in (whole(bare), week_csv(bare).decode()):
        assert "9.4 kA" not in text
    assert told(bare, "releases", "setting with its coupons") == [NO_COUPONS]
    (cell,) = {row["value"] for row in rows(FULL) if SETTING in row["value"]}
    assert cell == f"proven setting of #12 rev 1, #11 rev 2: {SETTING}"


def test_300_releases_are_all_there_and_each_page_has_the_head_of_the_table():
    many = tuple(replace(STANDING, job=f"RO {1000 + n}") for n in range(300))
    found = pages(week_pdf(replace(EMPTY, releases=many)))
    text = " ".join(found)
    assert re.findall(r"RO (\d{4})", text) == [str(1000 + n) for n in range(300)]
    with_rows = [each for each in found if re.search(r"RO \d{4}", each)]
    assert len(with_rows) > 10
    assert all("Job Joint Machine Released Proven setting and its" in each for each in with_rows)
    assert f"Page {len(found)} of {len(found)}" in found[-1]
    assert text.count("proven setting of") == 300


def hostile(text):
    """Return a full summary with one text wherever a text may stand."""
    printing = WeekPrinting(text, text, NOW, text)
    return WeekSummary(
        printing,
        FULL.since,
        FULL.until,
        0.9,
        text,
        FULL.counts,
        (replace(KIM, group=text, name=text, purpose=text, standing=text),),
        (CauseLine(text, 1, 1.0),),
        (DriftLine(text, text, text, (text,), True),),
        (ReleaseLine(text, text, text, text, text, NOW, (text,), False, (text,)),),
        (VoidLine(1, NOW, text, text, (text,)),),
        (MissingLine(text, text, text, text, text),),
        (ExpiringLine(text, text, NOW, (text,)),),
        (DressingLine(text, 1, 1, text, True),),
        (text,),
        SEAL,
    )


@pytest.mark.parametrize("text", [*TEXTS, "a\0b\ud83d \x1cnn", "{nb} **b** __i__"])
def test_hostile_texts_are_shown_as_typed_or_visibly_replaced(text):
    shown = " ".join(printable(text).split())
    found = whole(hostile(text))
    assert shown.replace(" ", "") in found.replace(" ", "")
    assert ("Some letters cannot be shown" in found) is (shown != " ".join(text.split()))


def test_a_summary_without_odd_letters_needs_no_excuse(printed):
    assert LOSSY_HERE not in " ".join(printed)
    assert LOSSY_HERE in whole(replace(FULL, honesty=("Иван",)))


def test_a_text_longer_than_a_page_is_written_out_in_full():
    words = " ".join(f"word{n}" for n in range(1500))
    long = replace(
        FULL,
        voided=(VoidLine(9, NOW, "Lee", words),),
        rates=(replace(KIM, name="W" * 999),),
        drift=(DriftLine("gun " * 30, "", "h", (), False),),
    )
    text = whole(long)
    assert "In full, #9, Why: word0 word1" in text
    assert set(re.findall(r"word(\d+)", text)) == {str(n) for n in range(1500)}
    assert re.sub(r"[^W]", "", text.partition("In full, WWW")[2]).count("W") >= 999
    assert "Machine " + "gun " * 30 + "h" in text


@pytest.mark.parametrize("text", TEXTS)
def test_csv_holds_every_text_as_typed_and_no_formula(text):
    found = rows(hostile(text))
    cells = [cell for row in found for cell in row.values()]
    assert guarded(text) in cells
    assert text in {unguarded(cell) for cell in cells}
    assert not [c for c in cells if c.lstrip("\ufeff\u200b \t\r\n")[:1] in set("=+-@") and c]
    assert told(hostile(text), "about", "shop") == [text]


def test_the_formulas_would_be_run_without_the_guard():
    assert [text for text in FORMULAS if guarded(text) == text] == []


def test_csv_begins_with_shop_period_and_mark():
    found = rows(replace(FULL, printing=replace(PRINTING, is_demo=True)))
    assert tuple(found[0]) == COLUMNS
    assert [(row["quantity"], row["value"]) for row in found[:4]] == [
        ("shop", "Test shop"),
        ("since", "2026-05-25"),
        ("until", "2026-06-01"),
        ("mark", INVENTED),
    ]
    assert told(FULL, "about", "seal of the log") == [SEAL]
    assert told(FULL, "about", "precedence") == [OUTRANKS]


@given(
    st.integers(0, 500),
    st.integers(0, 500),
    st.lists(st.floats(0, 1), min_size=3, max_size=3),
)
def test_pandas_reads_rates_without_loss(passed, failed, ends):
    low, rate, high = sorted(ends)
    line = replace(
        KIM, passed=passed, failed=failed, raw_rate=rate, raw_low=low, raw_high=high, name="NA"
    )
    made = replace(EMPTY, rates=(line,))
    table = pd.read_csv(io.BytesIO(week_csv(made)), keep_default_na=False)
    (raw,) = table[table["quantity"] == "raw pass rate"].to_dict("records")
    assert (raw["group"], raw["name"], raw["unit"]) == ("Welder", "NA", "share")
    found = [float(raw[name]) for name in ("low", "value", "high")]
    assert [*found, int(raw["count"])] == [low, rate, high, passed + failed]


def test_lines_of_the_csv_are_told_apart_by_their_number():
    table = pd.read_csv(io.BytesIO(week_csv(FULL)), keep_default_na=False)
    for name in SECTIONS:
        items = table.loc[table["section"] == name, "item"].astype(int)
        assert sorted(set(items)) == list(range(1, len(getattr(FULL, name)) + 1))
    assert told(FULL, "voided", "voided at") == [NOW.isoformat()] * 2


def test_print_and_csv_count_alike():
    text = whole(FULL)
    counted = re.search(r"(\d+) welded: (\d+) pass, (\d+) fail, (\d+) not yet judged, (\d+)", text)
    names = ("welded", "passed", "failed", "not yet judged", "voided")
    assert list(counted.groups()) == [told(FULL, "coupons", name)[0] for name in names]
    states = told(FULL, "releases", "state")
    stand, again = states.count("stands"), states.count("open again")
    assert f"Releases {len(states)}: {stand} stand, {again} open again" in text
    passed, failed = told(FULL, "rates", "passed"), told(FULL, "rates", "failed")
    judged = [f"{p} of {int(p) + int(f)}" for p, f in zip(passed, failed, strict=True)]
    table = text.partition(" Standing ")[2]
    assert [e for e in re.findall(r"\d+ of \d+(?= \d+\.\d %| –)", table)] == judged
    kinds = [row["group"] for row in rows(FULL) if row["section"] == "attention"]
    first = text.partition("Needs attention ")[2].partition(" Pass rates ")[0]
    assert [kind for kind in kinds if kind not in first] == []


def test_other_periods_say_so():
    days = replace(EMPTY, since=date(2026, 5, 26), until=date(2026, 6, 9))
    text = whole(days)
    assert "Summary of the period" in text
    assert "Tuesday 2026-05-26 to Monday 2026-06-08, 14 days" in text
    assert "not over when this was printed" in text
    assert "Period 2026-05-26 to 2026-06-08" in text
    assert "not over" not in whole(EMPTY)


@pytest.mark.parametrize(
    ("day", "monday"),
    [
        (date(2026, 5, 25), date(2026, 5, 25)),
        (date(2026, 5, 31), date(2026, 5, 25)),
        (date(2027, 1, 1), date(2026, 12, 28)),
    ],
)
def test_a_week_begins_on_monday(day, monday):
    assert week_of(day) == (monday, monday + timedelta(days=7))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"until": date(2026, 5, 25)}, "has 0 days; a summary holds 1 to 92"),
        ({"until": date(2026, 8, 26)}, "has 93 days; a summary holds 1 to 92"),
        ({"target": 90.0}, "the target is 90; it must be from 0 to 1"),
        (
            {"releases": (replace(STANDING, at=datetime(2026, 6, 1)),)},
            "a time in the summary has no time zone",
        ),
    ],
)
def test_what_cannot_be_a_summary_is_refused(change, sentence):
    with pytest.raises(InputError, match=sentence):
        replace(FULL, **change)


def test_a_rate_that_is_no_number_is_refused():
    with pytest.raises(InputError, match="raw_rate of Kim is nan; it must be from 0 to 1"):
        replace(KIM, raw_rate=float("nan"))


def test_a_summary_needs_its_time_zone_and_no_job():
    with pytest.raises(InputError, match="the time of a summary needs its time zone"):
        WeekPrinting("s", "p", datetime(2026, 6, 1), "Kim")
    assert WeekPrinting("s", "p", datetime(2026, 6, 1, tzinfo=UTC), "Kim").job == ""
