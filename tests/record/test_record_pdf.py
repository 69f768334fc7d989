"""The print, read back: every item is there, on every page what belongs on every page."""

import re
from dataclasses import replace

import pytest
from record_makers import CURED, GOOD, RULES, SMALL, WET, entry, joint_entry, pages, record

from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.record.job_record import INVENTED, software_version
from advisor.record.pdf import job_pdf
from advisor.record.rules_words import rules_version
from advisor.record.text import LOSSY
from advisor.record.wording import NO_RECOMMENDATION
from advisor.weld.cautions import OUTRANKS
from advisor.weld.size import SizeRule

NASTY = "Łukasz Иван 🔥\u200b\u202e\ud83d e\u0301 \x00\x07\x1cn {nb} **b** " + "x" * 400


@pytest.fixture(scope="module")
def printed():
    return pages(job_pdf(record()))


@pytest.fixture(scope="module")
def whole(printed):
    return " ".join(printed)


@pytest.mark.parametrize(
    "words",
    [
        # the head
        "Test shop, Testford",
        "Printed 2026-06-03 14:30 by Robin; all times UTC+02:00",
        "1 released, 2 held",
        "2 pass, 1 fail, 0 not yet judged, 0 voided",
        # a joint, its sheets and its adhesive
        "1. sill flange RELEASED",
        "1: 1.2 mm high-strength low-alloy, grade grade 340; upper face hot-dip zinc, lower face "
        "ground bare",
        "2: 1 mm low-carbon, grade not written down; upper face ground bare, lower face bare",
        "Adhesive Demo epoxy A, wet",
        "Original welds 16, pitch 30 mm",
        "Bonded joint covered. 2 passing coupons in a row at one setting (#12, #11)",
        "By Robin, 2026-06-03 14:10, on coupons #12 (revision 1), #11 (revision 1). Note: fit-up "
        "seen",
        "NOT OK: Mating edges bevelled under 10°. 12 °, 2 ° more than the limit of 10 °",
        # joints that are held
        "2. pillar, cured HELD",
        "Bonded-joint test missing",
        "0 of 2 passing coupons in a row.",
        "interface 1: Demo epoxy A, wet, not Demo epoxy A, cured.",
        CURED_WITHOUT_TEST,
        "the welder maker's and not this tool's: 12 kA, 10 cycles (Manual of the machine, page 41",
        "3. rear sill HELD",
        # a coupon
        "2026-06-03 10:00 by Kim, peel test; for job RO 7",
        "gun 1; dome, face 6 mm, CuCrZr; welds since dressing: 34",
        "9.4 kA, 180 ms, 2.5 kN, squeeze 310 ms, hold 210 ms, 2 pulses with pauses of 40 ms, "
        "pre-pulse 3.1 kA for 25 ms",
        "1: 1.2 on 1 mm 4.3 mm 4.7 mm 4.5 mm 4.00 mm = 4 x root 1 button pulled",
        f"PASS, by the rules of version {rules_version(RULES)}",
        "4.5 mm against 4.00 mm = 4 x root 1: pass by 0.5 mm",
        "1: 0.8 on 1.2 mm 2.1 mm 2.9 mm 2.5 mm 3.58 mm = 4 x root 0.8 interface with a small "
        "button",
        "2: 1.2 on 1 mm – – – 4.00 mm = 4 x root 1 no fusion",
        "expulsion: YES, edge weld: no, crack: no",
        "Coupon #13 FAIL",
        "Deviations, notes sheet 2 slightly bent",
        "by Lee, 2026-06-03 13:30, revision 1",
        # the background
        f"Rules of the shop, version {rules_version(RULES)}",
        "Minimum size: 4 x root t, t in mm",
        "AWS D8.1M:2013, cl. 3",
        "gun 1: inverter, 50 Hz mains, 2 to 13 kA, 0.5 to 5 kN",
        "Demo epoxy A: label times at 21 °C: work 40–50 min, clamp 90–120 min, full cure 1440 min",
        "mixed 2026-06-03 14:15, running; panel temperature 2026-06-03 14:15 21 °C; by the clock "
        "wet, work time left 25 min",
    ],
)
def test_every_item_is_there(whole, words):
    assert words in whole


def test_every_page_says_whose_which_when_and_n_of_m(printed):
    assert len(printed) > 1
    for number, text in enumerate(printed, start=1):
        assert f"Page {number} of {len(printed)}" in text
        assert text.startswith("Test shop Job RO 7 ")
        assert f"Printed 2026-06-03 14:30 UTC+02:00 · {software_version()}" in text
        assert OUTRANKS in text
        assert INVENTED not in text


def test_every_page_of_a_demo_is_marked():
    found = pages(job_pdf(record(is_demo=True)))
    assert len(found) > 1
    assert all(INVENTED in text for text in found)


def test_plain_letters_need_no_excuse(whole):
    assert LOSSY not in whole


def test_cured_without_a_recommendation_says_so():
    text = " ".join(pages(job_pdf(record((joint_entry("a", CURED, GOOD),)))))
    assert NO_RECOMMENDATION in text
    assert text.count(CURED_WITHOUT_TEST) == 1


def test_open_again_and_voided_are_told():
    joint = joint_entry("a", WET, GOOD, released=True, voided="wrong sheet")
    voided = [entry(replace(each, voided="wrong sheet", revision=2)) for each in GOOD]
    text = " ".join(pages(job_pdf(record((joint,), voided))))
    assert "1. a HELD, OPEN AGAIN" in text
    assert "Coupon #11 was voided: wrong sheet." in text
    assert "Coupon #11 VOIDED, does not count (was PASS)" in text
    assert "revision 2; voided: wrong sheet" in text
    assert "0 pass, 0 fail, 0 not yet judged, 2 voided" in text


def test_a_correction_is_told_with_its_reason():
    corrected = entry(replace(GOOD[0], revision=2), why="misread caliper")
    text = " ".join(pages(job_pdf(record((), [corrected]))))
    assert "revision 2; corrected: misread caliper" in text


def test_earlier_rules_are_written_out_beside_those_of_now():
    stricter = ShopRules(JudgingRules(SizeRule(5.0)))
    coupons = [entry(GOOD[0], rules=RULES), entry(GOOD[1])]
    text = " ".join(pages(job_pdf(record((), coupons, rules=stricter))))
    assert "Minimum size: 5 x root t" in text
    assert f"version {rules_version(RULES)}, no longer in force" in text
    assert "4.5 mm see reasons button pulled" in text


def test_a_job_with_nothing_has_a_record():
    text = " ".join(pages(job_pdf(record((), []))))
    assert "No joint is entered for this job." in text
    assert "No coupon was welded for this job." in text


def test_no_letter_a_user_may_type_breaks_it():
    odd = replace(GOOD[0].coupon, welder=NASTY, machine=NASTY, notes=NASTY * 60, job=NASTY)
    joint = joint_entry("a", WET, GOOD)
    joint = replace(joint, joint=replace(joint.joint, name=NASTY, job=NASTY))
    coupons = [entry(replace(GOOD[0], coupon=odd)), entry(GOOD[1])]
    made = record((joint,), coupons, shop=NASTY, place=NASTY, by=NASTY, job=NASTY)
    found = pages(job_pdf(made))
    assert "Lukasz ¤¤¤¤ ¤¤ e ¤¤¤n {nb} **b**" in " ".join(found)
    assert LOSSY in " ".join(found)
    assert all(f"Page {n} of {len(found)}" in text for n, text in enumerate(found, start=1))


def test_a_hundred_coupons():
    many = [
        entry(replace(SMALL if number % 2 else GOOD[0], number=number)) for number in range(1, 101)
    ]
    found = pages(job_pdf(record((), many)))
    told = re.findall(r"Coupon #(\d+) (?:PASS|FAIL)", " ".join(found))
    assert [int(each) for each in told] == list(range(1, 101))
    assert f"Page {len(found)} of {len(found)}" in found[-1]
