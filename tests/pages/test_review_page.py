"""The lead's page on a small shop: every view opens, says how little is known, and writes files."""

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import fill_coupon, html, opened, press, stack, told
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint
from advisor.coupons.matching import Condition
from advisor.coupons.purpose import Purpose
from advisor.pages.review.failures import _REASONS
from advisor.pages.review.page import VIEWS
from advisor.people.roles import Role
from advisor.record.week import WeekPrinting
from advisor.record.week_csv import week_csv
from advisor.record.week_pdf import week_pdf
from advisor.store.lead import lacking_words, week_summary
from advisor.store.reviewing import Which
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

CAPS = Electrode(CapShape.DOME, 6)
GOOD = (InterfaceResult(4.6, 5.0, FailureType.BUTTON),)
SMALL = (InterfaceResult(3.0, 3.4, FailureType.BUTTON),)


SCRIPT = "from advisor.pages.shell import run\nrun('review')"


def view(name, **chosen):
    """Open a view with filters as its user would have chosen them."""
    app = AppTest.from_string(SCRIPT, default_timeout=30)
    app.session_state["view"] = name
    for key, value in chosen.items():
        app.session_state[key] = value
    app.run()
    assert not app.exception
    return app


def weld(log, many, results=GOOD, welder="Sam", days=1.0, others=None, **changes):
    """Log coupons of one stack at one setting, the newest some days ago."""
    now = datetime.now(UTC)
    first = Coupon(
        made_at=now,
        welder=welder,
        machine="Bay gun",
        electrode=CAPS,
        stack=others or stack(1.2, 1.0),
        setting=Setting(9.0, 200, 3.0),
        results=results,
        **changes,
    )
    for n in range(many, 0, -1):
        at = now - timedelta(days=days, minutes=7 * n)
        log.add_coupon(replace(first, made_at=at), "Sam")


@pytest.mark.parametrize("name", VIEWS)
def test_every_view_opens_on_a_shop_without_a_coupon(log, name):
    app = view(name)
    assert "exception" not in html(app)


def test_one_coupon_is_shown_with_its_interval_and_says_nothing_about_anybody(log):
    weld(log, 1)
    app = view("rates", what="all")
    # Wilson 95 % for 1 of 1: 1 / (1 + 1.96²) = 0.2065 to 1.
    assert "raw 1 of 1, 100 % (21 to 100 %); too few to say about target 90 %" in html(app)
    assert "Nothing needs you that is evident" in html(view("now"))


def test_first_set_up_and_release_coupons_are_told_apart(log):
    weld(log, 3)
    assert "raw 2 of 2" in html(view("rates"))  # release coupons at first
    assert "raw 1 of 1" in html(view("rates", what="first"))
    assert told(view("rates", what="set_up"))[0].startswith("No coupon was judged among these")
    assert "raw 3 of 3" in html(view("rates", what="all"))
    said = html(view("rates", what="all", by="purpose"))
    assert "first attempt: " in said
    assert "release coupon: " in said


def test_a_welder_evidently_below_the_target_needs_the_lead(log):
    log.add_welder("Robin", "Sam")
    weld(log, 30)
    weld(log, 15, SMALL, "Robin", days=2)
    app = view("now")
    assert "Below target" in html(app)
    assert "Welder Robin, all coupons of the period</b>: 0 of 15 passed" in html(app)
    press(app, "Look: below target")
    assert app.session_state["view"] == "rates"


def test_two_welders_are_held_against_each_other_on_the_same_work_only(log):
    log.add_welder("Robin", "Sam")
    weld(log, 9)
    weld(log, 5, SMALL, "Robin", others=stack(0.8, 0.8))
    said = html(view("rates", what="all", a="Sam", b="Robin"))
    assert "cannot be compared: there is no kind of work that both welded" in said
    weld(log, 4, SMALL, "Robin")
    said = html(view("rates", what="all", a="Sam", b="Robin"))
    assert "1 kind of work can be compared, with 9 judged coupons by Sam and 4 by Robin" in said
    assert told(view("rates", what="all", a="Sam", b="Sam"))[-1] == "Choose two different welders."


def test_exact_intervals_on_request(log):
    weld(log, 5)
    # Clopper and Pearson for 5 of 5: 0.025 ** (1 / 5) = 0.478 to 1.
    assert "raw 5 of 5, 100 % (48 to 100 %)" in html(view("rates", what="all", interval="exact"))


@pytest.mark.parametrize("by", ["week", "month"])
def test_rates_by_time_count_every_coupon_once(log, by):
    weld(log, 3, days=40)
    weld(log, 2, SMALL)
    rows = view("rates", what="all", by=by)
    assert "3 of 3" in html(rows)
    assert "0 of 2" in html(rows)


def test_weeks_of_all_time_ask_for_a_period(log):
    weld(log, 1)
    app = view("rates", by="week", of="all")
    assert told(app) == ["Weeks are counted from a day on: choose one of the periods."]


def test_drift_says_what_is_missing_before_there_are_limits(log):
    weld(log, 3)
    assert "No limits yet: 9 more stable coupons" in html(view("drift"))


def test_a_machine_whose_welds_grow_smaller_is_found(log):
    caps = datetime.now(UTC) - timedelta(days=60)
    log.fit_caps("Bay gun", CAPS, caps, "Sam")
    for n in range(60):
        off = 0.15 * ((-1) ** n) - (0.05 * (n - 25) if n > 25 else 0)
        size = (InterfaceResult(round(4.9 + off, 2), round(5.1 + off, 2), FailureType.BUTTON),)
        weld(log, 1, size, days=50 - n / 2)
    said = html(view("drift"))
    assert "Drifting: welds are smaller than in the stable period" in said
    glance = html(view("now"))
    assert "Drifting" in glance
    assert "Bay gun, dome" in glance


def test_limits_begin_anew_when_a_lead_says_why(log):
    weld(log, 3)
    app = view("drift")
    press(app, "Begin anew from now")
    assert told(app) == ["say in a few words why the limits of drift begin anew"]
    app.text_input(key="anew·Bay gun").set_value("new cooling water")
    press(app, "Begin anew from now")
    assert next((e.kind, e.note) for e in log.events("Bay gun")) == ("settled", "new cooling water")
    assert "No limits yet: 12 more stable coupons" in html(view("drift"))


def test_only_a_lead_lets_limits_begin_anew(log):
    log.add_welder("Robin", "Sam", Role.WELDER)
    app = view("drift", who="Robin")
    app.text_input(key="anew·Bay gun").set_value("because")
    press(app, "Begin anew from now")
    assert "takes a lead; Robin is a welder" in told(app)[0]


def test_failures_count_causes_and_expulsions(log):
    weld(log, 4)
    weld(log, 2, SMALL, expulsion=True)
    said = html(view("failures"))
    assert "2 of 6 judged coupons failed" in said
    # Wilson 95 % for 2 of 6: 10 to 70 %.
    assert "2 of 6 threw metal out (10 to 70 %, Wilson 95 %)" in said
    assert "2 failing coupons: too few to say which causes make up most" in said


def test_metal_thrown_out_of_a_coupon_that_is_not_judged_yet_is_counted_too(log):
    weld(log, 1, (InterfaceResult(None, None, None),), expulsion=True)
    said = html(view("failures", of="all"))
    assert "1 of 1 threw metal out" in said


def test_what_was_foretold_is_kept_with_the_coupon_and_shown(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    sums = wet_joint.foretold_sums("sound")
    assert (sums.count, sums.happened) == (1, 1.0)
    assert 0 < sums.foretold < 1
    said = html(view("failures"))
    assert "a sound weld: said" in said
    assert "too few to say (under 20)" in said


def test_a_coupon_welded_earlier_is_not_foretold_from_later_ones(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    earlier = next(each for each in app.get("datetime_input"))
    earlier.set_value(datetime.now() - timedelta(hours=3))
    press(app, "Judge and keep")
    assert wet_joint.coupon(1).number == 1
    assert wet_joint.foretold_sums("sound").count == 0


def test_evidence_shows_releases_voids_and_what_ends_soon(wet_joint):
    app = opened("coupon")
    for _ in range(2):
        fill_coupon(app)
        press(app, "Judge and keep")
        press(app, "Same setting again")
    wet_joint.release(1, "Sam")
    said = html(view("evidence"))
    assert "Released" in said
    assert "proven setting of #2 rev 1, #1 rev 1: " in said
    wet_joint.void_coupon(1, "Sam", "wrong sheet")
    said = html(view("evidence"))
    assert "Open again" in said
    assert "no longer to be used; was the proven setting of #2 rev 1, #1 rev 1" in said
    assert "#1, " in said
    assert "RELEASED ON IT: RO-1 · sill" in said
    needed = html(view("now"))
    assert "Release open again" in needed
    assert "coupon #1 was voided: wrong sheet; 1 of 2 passes, weld 1 more" in needed
    # The void and the missing test are about the same release, and are told with it.
    assert "Evidence voided" not in needed
    assert "Bonded-joint test missing" not in needed


def test_a_missing_test_says_what_to_weld_and_leads_to_its_job(wet_joint):
    app = view("now")
    assert "RO-1, sill</b>: 0 of 2 passes, weld 2" in html(app)
    press(app, "Before welding: RO-1")
    assert app.query_params["job"] == "RO-1"
    app = view("evidence")
    assert "RO-1 · sill: bonded-joint test missing; 0 of 2 passes, weld 2" in html(app)
    press(app, "Before welding: RO-1")
    assert app.query_params["job"] == "RO-1"


def test_overdue_caps_lead_to_where_dressing_is_noted(log):
    log.fit_caps("Bay gun", CAPS, datetime.now(UTC) - timedelta(days=9), "Sam")
    log.save_rules(replace(log.rules(), dress_after_welds=50), "Sam")
    weld(log, 1, welds_since_dressing=60)
    for name in ("now", "evidence"):
        app = view(name)
        press(app, "Note the dressing")
        assert app.query_params["tab"] == "machines"


def test_evidence_is_read_in_one_s_own_units_on_one_s_own_clock(wet_joint):
    app = opened("coupon")
    for _ in range(2):
        fill_coupon(app)
        press(app, "Judge and keep")
        press(app, "Same setting again")
    release = wet_joint.release(1, "Sam")
    at = f"{release.at.astimezone():%d %b %Y %H:%M}, on Bay gun"
    in_kN = f"{release.setting.current_kA:.1f} kA, {release.setting.weld_ms:.0f} ms, "
    said = html(view("evidence"))
    assert at in said
    assert f"{in_kN}{release.setting.force_kN:.2f} kN" in said
    wet_joint.save_preferences("Sam", {"unit_force": "N", "unit_current": "A"})
    in_N = f"{1000 * release.setting.current_kA:.0f} A, {release.setting.weld_ms:.0f} ms, "
    assert f"{in_N}{1000 * release.setting.force_kN:.0f} N" in html(view("evidence"))


def test_joints_without_coupons_stand_job_by_job(wet_joint):
    for job, name in (("RO-0", "roof"), ("RO-2", "rail"), ("RO-1", "arch")):
        wet_joint.save_joint(Joint(name, job, stack(1.2, 1.0), "Bay gun"), "Sam")
    said = html(view("evidence"))
    places = [said.index(each) for each in ("RO-0 · roof", "RO-1 · arch", "RO-1 · sill", "RO-2 ·")]
    assert places == sorted(places)
    assert "RO-0 · roof: test missing; 0 of 2 passes, weld 2" in said


def test_reasons_for_missing_coverage_are_whole_words():
    assert set(_REASONS) == set(Condition)


@pytest.mark.parametrize(
    ("passes", "state", "words"),
    [
        (0, CoverState.MISSING, "0 of 3 passes, weld 3"),
        (1, CoverState.MISSING, "1 of 3 passes, weld 2 more"),
        (0, CoverState.EXPIRED, "expired: weld 3 new ones"),
        (0, CoverState.FAILED, "the newest one failed: change the setting, then 3 passes in a row"),
    ],
)
def test_what_a_joint_lacks_in_a_few_words(passes, state, words):
    assert lacking_words(Coverage(state, "", "", passes, 3)) == words


def test_a_coupon_that_waits_for_its_test_is_not_welded_anew(wet_joint):
    wet = stack(1.2, 1.0, state=AdhesiveState.WET)
    weld(wet_joint, 1, (InterfaceResult(None, None, None),), days=0.1, others=wet, job="RO-1")
    (waiting,) = wet_joint.waiting()
    assert lacking_words(waiting.coverage) == "the newest one is not judged: write down its test"


def test_the_week_is_made_on_paper_and_as_csv(log):
    weld(log, 3, days=0)
    app = view("week")
    press(app, "Make the summary")
    assert told(app) == ["Whose summary is it? Give the shop's name first."]
    app.text_input(key="week-shop").set_value("Test shop")
    press(app, "Make the summary")
    names = [each.proto.label for each in app.get("download_button")]
    assert names == ["Week as PDF", "Week as CSV"]
    assert log.preferences("Sam")["record_shop"] == "Test shop"


def test_the_week_s_figures_are_those_of_the_log(log):
    weld(log, 4, days=0.2)
    weld(log, 2, SMALL, days=0.1)
    now = datetime.now().astimezone()
    until = datetime.now(UTC).date() + timedelta(days=1)
    since = until - timedelta(days=7)
    made = week_summary(log, WeekPrinting("Test shop", "", now, "Sam"), since, until, 0.9)
    assert (made.counts.passed, made.counts.failed) == (4, 2)
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(week_pdf(made))).pages)
    assert "weld too small" in text
    rows = list(csv.DictReader(io.StringIO(week_csv(made).decode())))
    mine = [
        row["value"]
        for row in rows
        if row["section"] == "rates" and row["name"] == "Sam" and row["quantity"] == "passed"
    ]
    counted = log.pass_counts("welder", Which(since, until))
    release = log.pass_counts("welder", Which(since, until, purpose=Purpose.RELEASE))
    assert sorted(map(float, mine)) == sorted([counted["passed"][0], release["passed"][0]])
