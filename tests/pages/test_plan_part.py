"""The coupon plan on the page, on paper and as a file."""

import csv
import io
import re
from dataclasses import replace
from datetime import UTC, datetime
from html import escape

import pytest
from page_helpers import EPOXY, GROUND, html, stack, told
from streamlit.testing.v1 import AppTest

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.plan import CouponKind, Plan
from advisor.coupons.verdict import Outcome, Verdict
from advisor.pages.parts.plan import Words, bench_card, csv_text, kind_card, print_page, summary
from advisor.pages.parts.units_choice import UnitChoice
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

NOW = datetime(2026, 3, 31, 14, 0, tzinfo=UTC)
CAPS = Electrode(CapShape.DOME, 6.0)
ADHESIVES = {EPOXY: Adhesive(EPOXY, Span(40, 50), Span(90, 120), Span(1200, 1440))}
WORDS = Words(UnitChoice.read({}), ADHESIVES)
IN_INCHES = Words(UnitChoice.read({"unit_length": "in"}), ADHESIVES)


def kind(laid, coupons=2, name="sill", **more):
    return CouponKind(
        laid, "Bay gun", CAPS, (Joint(name, "RO-1", laid, "Bay gun"),), coupons, **more
    )


CURED = kind(stack(1.2, 1.0, state=AdhesiveState.CURED), 2, "pillar")
WET = kind(stack(1.2, 1.0, state=AdhesiveState.WET), 1)
ZINC = kind(
    Stack((Sheet(0.8, upper=Surface.WELD_PRIMER, lower=GROUND), Sheet(0.8, grade="340"))), 3, "=1+1"
)
PLAN = Plan((CURED, WET, ZINC))


def shown(job, shop=""):
    """Draw the part alone for one job."""
    script = (
        "from advisor.pages.parts import plan\n"
        "from advisor.pages.session import current\n"
        "session = current()\n"
        f"plan.show(session, {job!r}, session.log.joint_states({job!r}))"
    )
    app = AppTest.from_string(script, default_timeout=30)
    if shop:
        app.query_params["shop"] = shop
    app.run()
    assert not app.exception
    return app


def buttons(app):
    return [button.label for button in app.get("download_button")]


# --- on the page --------------------------------------------------------------------------------


def test_demo_job_lists_cured_before_wet_and_counts_what_has_passed(folder):
    app = shown("D-1041", "demo")
    assert "3 coupons of 2 kinds for 2 open joints" in app.markdown[0].value
    assert "1 joint covered already" in app.markdown[0].value
    cards = [element.body for element in app.get("html")]
    assert len(cards) == 3
    assert "Kind 1: 2 coupons, cured" in cards[1]
    assert escape(CURED_WITHOUT_TEST) in cards[1]
    assert "see page Next setting" in cards[1]
    assert "Kind 2: 1 coupon, wet" in cards[2]
    assert "counted already" in cards[2]
    assert buttons(app) == ["List to print", "List as CSV"]


def test_demo_job_with_every_joint_covered_says_so(folder):
    app = shown("D-1038", "demo")
    assert [e.value for e in app.success] == ["Nothing: every joint of job D-1038 is covered."]
    assert html(app) == ""
    assert buttons(app) == []


def test_no_number_of_a_setting_is_given(folder):
    for job in ("D-1041", "D-1035"):
        assert not re.search(r"\d ?(kA|ms|kN)\b", html(shown(job, "demo")))


def test_a_joint_that_no_coupon_can_cover_is_told_with_the_reason(wet_joint):
    wet_joint.save_machine(replace(wet_joint.machine("Bay gun"), name="New gun"), "Sam")
    wet_joint.save_joint(Joint("roof", "RO-1", stack(1.0, 0.8), "New gun"), "Sam")
    app = shown("RO-1")
    assert len(app.warning) == 1
    assert "No coupon can cover roof yet: the shop has not said which caps" in told(app)[0]
    assert "Kind 1: 2 coupons, wet" in html(app)


# --- the cards ----------------------------------------------------------------------------------


def test_bench_list_adds_up_all_kinds():
    text = bench_card(PLAN, WORDS)
    assert "3 × 1.20 mm low-carbon, both faces ground bare" in text
    assert "3 × 1.00 mm low-carbon, both faces ground bare" in text
    assert "3 × 0.80 mm low-carbon, one face ground bare, the other weld-through primer" in text
    assert "3 × 0.80 mm low-carbon 340, both faces bare" in text
    # Three coupons with four ground faces each, and three with one.
    assert "<b>Grind to bare metal</b><ul><li>15 faces of" in text
    assert "<b>Weld-through primer</b><ul><li>3 faces of" in text
    assert text.index("leave to full cure") < text.index("within the work time")
    assert text.index("within the work time") < text.index("weld at any time")


def test_a_stack_with_two_states_bonds_the_one_that_waits_first():
    sheets = stack(1.0, 1.0, 1.0).sheets
    wet, cured = Bond(EPOXY, AdhesiveState.WET), Bond("Other epoxy", AdhesiveState.CURED)
    card = kind_card(1, kind(Stack(sheets, (wet, cured))), WORDS)
    assert (
        "Other epoxy, cured: bond, leave to full cure before welding; then "
        f"{EPOXY}, wet: bond, weld within the work time; label at 21.0 °C"
    ) in card


def test_lengths_follow_the_person_s_unit():
    assert "0.0472 in low-carbon" in bench_card(PLAN, IN_INCHES)
    assert " mm low-carbon" not in bench_card(PLAN, IN_INCHES) + kind_card(1, WET, IN_INCHES)


def test_label_times_are_shown_or_said_to_be_missing():
    known = kind_card(1, CURED, WORDS)
    assert "label at 21.0 °C: work time 40–50 min, full cure 20–24 h" in known
    unknown = kind_card(1, CURED, replace(WORDS, adhesives={}))
    assert f"label times of {EPOXY} not entered (Shop set-up)" in unknown


def test_only_cured_adhesive_carries_its_standing_sentence():
    told_so = [escape(CURED_WITHOUT_TEST) in kind_card(1, each, WORDS) for each in PLAN.kinds]
    assert told_so == [True, False, False]


def test_a_run_that_has_begun_is_named_by_its_coupons():
    made = Coupon(NOW, "Sam", "Bay gun", CAPS, WET.stack, Setting(8.0, 200.0, 2.5))
    begun = LoggedCoupon(12, made, Verdict(Outcome.PASS, ()))
    card = kind_card(1, replace(WET, continues=(begun,)), WORDS)
    assert "that of #12, counted already; at another setting the count starts again" in card


def test_names_cannot_break_the_page():
    card = kind_card(1, kind(WET.stack, name="<b>sill</b> & roof"), WORDS)
    assert "&lt;b&gt;sill&lt;/b&gt; &amp; roof" in card


# --- files --------------------------------------------------------------------------------------


def test_csv_has_a_row_a_sheet_and_units_in_its_columns():
    rows = list(csv.DictReader(io.StringIO(csv_text(PLAN, ADHESIVES))))
    assert [(r["kind"], r["sheet"], r["pieces"], r["thickness_mm"]) for r in rows] == [
        ("1", "1", "2", "1.2"),
        ("1", "2", "2", "1.0"),
        ("2", "1", "1", "1.2"),
        ("2", "2", "1", "1.0"),
        ("3", "1", "3", "0.8"),
        ("3", "2", "3", "0.8"),
    ]
    first = rows[0]
    assert (first["face_mm"], first["cap_shape"]) == ("6.0", "dome")
    assert (first["adhesive_below"], first["state_below"]) == (EPOXY, "cured")
    assert (first["work_shortest_min"], first["cure_longest_min"]) == ("40", "1440")
    assert first["label_degC"] == "21.0"
    assert rows[1]["adhesive_below"] == ""
    assert (rows[4]["upper"], rows[4]["lower"]) == ("weld_primer", "ground_bare")


def test_csv_name_that_starts_like_a_formula_stays_text():
    rows = list(csv.DictReader(io.StringIO(csv_text(PLAN, ADHESIVES))))
    assert rows[-1]["joints"] == "'=1+1"
    assert rows[0]["joints"] == "pillar"


def test_print_page_stands_alone():
    page = print_page(PLAN, WORDS, "RO <1>", NOW, "DEMO – an invented shop")
    assert page.startswith("<!doctype html>")
    assert "Coupons to weld, job RO &lt;1&gt;" in page
    assert "DEMO – an invented shop" in page
    assert "2026-03-31 14:00" in page
    assert page.count('<div class="card trial">') == 3
    assert "first. This tool only keeps and reads coupons" in page
    assert not re.search(r"https?:|src=|href=|url\(|@import|<script", page)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (PLAN, "6 coupons of 3 kinds for 3 open joints; each must pass."),
        (Plan((WET,)), "1 coupon of 1 kind for 1 open joint; each must pass."),
        (
            Plan((WET,), covered=CURED.joints),
            "1 coupon of 1 kind for 1 open joint; each must pass. 1 joint covered already.",
        ),
    ],
)
def test_summary_counts(found, words):
    assert summary(found) == words
