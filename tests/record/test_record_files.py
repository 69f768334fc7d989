"""The files of a record parse back to the same numbers."""

import csv
import io
import json
from dataclasses import asdict, replace

from hypothesis import given
from hypothesis import strategies as st
from record_makers import EPOXY, GOOD, NOW, RULES, SMALL, entry, record
from strategies import coupons as coupon_strategy

from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.flat import from_row
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import judge
from advisor.record.files import CSV_COLUMNS, to_csv, to_json
from advisor.record.job_record import software_version
from advisor.record.rules_words import rules_version
from advisor.weld.cautions import OUTRANKS


def parsed(made):
    return json.loads(to_json(made))


def rows(made):
    return list(csv.DictReader(io.StringIO(to_csv(made).decode(), newline="")))


def test_json_holds_the_job():
    made = parsed(record())
    assert (made["job"], made["shop"], made["place"]) == ("RO 7", "Test shop", "Testford")
    assert made["printed_at"] == NOW.isoformat()
    assert made["software"] == software_version()
    assert made["precedence"] == OUTRANKS
    assert made["invented_demo"] is False
    assert parsed(record(is_demo=True))["invented_demo"] is True
    assert parsed(record(is_copy=True))["practice_copy"] is True
    (rules,) = made["rules"]
    assert rules["version"] == rules_version(RULES)
    assert rules["judging"]["size"]["k"] == 4.0


def test_json_joints_tell_released_from_held():
    sill, pillar, rear = parsed(record())["joints"]
    assert sill["is_released"] is True
    assert sill["release"]["by"] == "Robin"
    assert [e["number"] for e in sill["release"]["evidence"]] == [12, 11]
    assert sill["release"]["setting"]["current_kA"] == 9.4
    assert sill["checks"][3] == {
        "text": "Mating edges bevelled under 10°.",
        "measured": "12 °, 2 ° more than the limit of 10 °",
        "ok": False,
        "by": "Lee",
        "at": NOW.isoformat(),
    }
    assert pillar["is_released"] is False
    assert pillar["maker_recommendation"]["settings"] == "12 kA, 10 cycles"
    assert pillar["maker_sentences"][0] == CURED_WITHOUT_TEST
    assert rear["coverage"]["nearest"] == 13
    assert rear["held_because"]
    assert rear["pitch_mm"] == 30.0


def test_json_coupon_has_every_number_with_its_unit():
    made = parsed(record())["coupons"][2]
    coupon = SMALL.coupon
    assert made["setting"] == asdict(coupon.setting)
    assert [s["thickness_mm"] for s in made["stack"]["sheets"]] == [0.8, 1.2, 1.0]
    first, second = made["interfaces"]
    assert (first["smallest_mm"], first["largest_mm"], first["mean_mm"]) == (2.1, 2.9, 2.5)
    assert (first["minimum_mm"], first["formula"]) == (3.58, "4√0.8")
    assert (second["mean_mm"], second["failure"]) == (None, "no fusion")
    assert (made["verdict"], made["expulsion"], made["welds_since_dressing"]) == ("fail", True, 34)
    assert [r["text"] for r in made["reasons"]] == [r.text for r in SMALL.verdict.reasons]
    assert parsed(record())["coupons"][0]["evidence_for"] == ["sill flange"]


def test_json_clock():
    (clock,) = parsed(record())["adhesive_clocks"]
    assert clock["adhesive"]["name"] == EPOXY.name
    assert clock["readings"][0]["degC"] == 21.0
    assert clock["state_when_printed"]["work_left_min"] == 25.0


def test_csv_has_a_row_a_coupon_with_its_joint():
    made = rows(record())
    assert tuple(made[0]) == CSV_COLUMNS
    assert [row["number"] for row in made] == ["11", "12", "13"]
    assert (made[0]["joints"], made[0]["joint_states"]) == ("sill flange", "RELEASED")
    assert (made[0]["released_by"], made[0]["record_job"]) == ("Robin", "RO 7")
    assert (made[2]["joints"], made[2]["verdict"]) == ("", "fail")
    assert float(made[2]["interface1_mean_mm"]) == 2.5
    assert float(made[2]["interface1_minimum_mm"]) == 3.58
    assert made[2]["interface2_mean_mm"] == ""


@given(st.lists(coupon_strategy(), min_size=1, max_size=4))
def test_coupons_come_back_from_both_files(coupons):
    logged = [
        LoggedCoupon(number, each, judge(each, RULES.judging))
        for number, each in enumerate(coupons, start=1)
    ]
    made = record((), [entry(each) for each in logged])
    for original, row, found in zip(coupons, rows(made), parsed(made)["coupons"], strict=True):
        read = from_row(row)
        assert replace(read, notes=original.notes) == original
        assert found["setting"] == asdict(original.setting)
        assert [(r["smallest_mm"], r["largest_mm"]) for r in found["results"]] == [
            (r.smallest_mm, r.largest_mm) for r in original.results
        ]


def test_odd_letters_stay_as_typed():
    odd = "Иван 🔥\u200b √2"
    logged = replace(GOOD[0], coupon=replace(GOOD[0].coupon, notes=odd))
    made = record((), [entry(logged)])
    assert parsed(made)["coupons"][0]["notes"] == odd
    assert rows(made)[0]["notes"] == odd


def test_a_lone_surrogate_harms_neither_file():
    logged = replace(GOOD[0], coupon=replace(GOOD[0].coupon, notes="a\ud83db"))
    made = record((), [entry(logged)])
    assert parsed(made)["coupons"][0]["notes"] == "a\ud83db"
    assert rows(made)[0]["notes"] == "a\\ud83db"
