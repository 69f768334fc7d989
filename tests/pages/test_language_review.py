"""The lead's review speaks the reader's language throughout; files for programs stay English."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import html, press, stack
from said_in_charts import unsaid
from streamlit.testing.v1 import AppTest

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.language import ENGLISH, speaking
from advisor.pages.parts import chart_files
from advisor.pages.review import week
from advisor.pages.review.page import VIEWS
from advisor.record.week_csv import week_csv
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

CAPS = Electrode(CapShape.DOME, 6)
#: What nobody translates: a person, and the copper of the caps.
NAMES = ("Robin", "CuCrZr")
GROUPS = ("welder", "machine", "adhesive_state", "family", "stack", "purpose", "week", "month")


@pytest.fixture
def database():
    """What the review says does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def german(pseudo, monkeypatch):
    """Let everybody read another language, whose sentences stand in ⟦⟧."""
    monkeypatch.setattr("advisor.language._asked", [lambda: "de"])


@pytest.fixture
def open_folds(monkeypatch):
    """Draw the tables and files of every chart as if each had been asked for."""
    made = []
    monkeypatch.setattr(chart_files, "_folded", lambda *given: made.append(given))
    return made


@pytest.fixture
def busy(log):
    """A shop with drift, failures, what was foretold, a second welder and a voided coupon."""
    with speaking(ENGLISH):
        log.add_welder("Robin", "Sam")
        log.fit_caps("Bay gun", CAPS, datetime.now(UTC) - timedelta(days=60), "Sam")
        for n in range(45):
            off = 0.15 * ((-1) ** n) - (0.05 * (n - 25) if n > 25 else 0)
            size = InterfaceResult(round(4.9 + off, 2), round(5.1 + off, 2), FailureType.BUTTON)
            weld(log, size, days=50 - n, welds_since_dressing=n)
        small = InterfaceResult(3.0, 3.4, FailureType.BUTTON)
        for n in range(15):
            weld(log, small, "Robin", days=2 + n / 30, expulsion=n < 3)
        log.void_coupon(45, "Sam", "12")
        joined = stack(1.2, 1.0, state=AdhesiveState.WET)
        log.save_joint(Joint("sill", "RO-1", joined, "Bay gun"), "Sam")
    return log


def weld(log, result, welder="Sam", days=1.0, **changes):
    at = datetime.now(UTC) - timedelta(days=days)
    made = Coupon(
        at, welder, "Bay gun", CAPS, stack(1.2, 1.0), Setting(9.0, 200, 3.0), results=(result,)
    )
    log.add_coupon(replace(made, **changes), "Sam")


def view(name, **chosen):
    app = AppTest.from_string(
        "from advisor.pages.shell import run\nrun('review')", default_timeout=30
    )
    for key, value in {"view": name, **chosen}.items():
        app.session_state[key] = value
    app.run()
    return app


@pytest.mark.parametrize("name", VIEWS)
def test_every_view_of_a_shop_without_a_coupon(log, german, name):
    assert unsaid(view(name), *NAMES) == []


@pytest.mark.parametrize("name", VIEWS)
def test_every_view_of_a_busy_shop(busy, german, name):
    app = view(name, what="all")
    assert unsaid(app, *NAMES) == []


@pytest.mark.parametrize("by", GROUPS)
def test_every_group_of_the_pass_rates(busy, german, by):
    app = view("rates", what="all", by=by)
    assert unsaid(app, *NAMES) == []


def test_two_welders_held_against_each_other(busy, german):
    assert unsaid(view("rates", what="all", a="Sam", b="Robin"), *NAMES) == []
    assert unsaid(view("rates", what="all", a="Sam", b="Sam"), *NAMES) == []


def test_a_release_and_its_end(busy, german):
    with speaking(ENGLISH):
        for days in (0.02, 0.01):
            size = InterfaceResult(5.4, 5.6, FailureType.BUTTON)
            weld(busy, size, days=days, stack=stack(1.2, 1.0, state=AdhesiveState.WET), job="RO-1")
        busy.release(1, "Sam")
    app = view("evidence")
    assert "⟦Released⟧" in html(app)
    assert unsaid(app, *NAMES) == []
    with speaking(ENGLISH):
        busy.void_coupon(61, "Sam", "12")
    app = view("evidence")
    assert "⟦Open again⟧" in html(app)
    assert "RELEASED ON IT" in html(app)
    assert unsaid(app, *NAMES) == []
    assert unsaid(view("now"), *NAMES) == []


def test_the_week_and_what_it_asks_for(busy, german, monkeypatch):
    kept = []
    monkeypatch.setattr(week, "week_pdf", lambda summary: b"")  # its fonts know no ⟦
    monkeypatch.setattr(week, "week_csv", lambda summary: kept.append(week_csv(summary)) or b"")
    app = view("week")
    press(app, "⟦Make the summary⟧")
    assert unsaid(app, *NAMES) == []
    app.text_input(key="week-shop").set_value("Sam")
    press(app, "⟦Make the summary⟧")
    assert "⟦" not in kept[0].decode()
    assert unsaid(app, *NAMES) == []


@pytest.mark.parametrize("by", GROUPS)
def test_the_csv_of_a_chart_is_english_whoever_asks_for_it(busy, german, open_folds, by):
    view("rates", what="all", by=by)
    assert open_folds
    for chart, data, _, _, about in open_folds:
        for kind, _, make in chart_files._files(chart, chart_files._in_english(data), about):
            if kind == "csv":
                assert "⟦" not in make().decode()


@pytest.mark.parametrize("name", ["drift", "failures"])
def test_a_table_is_read_in_ones_language_and_kept_in_english(busy, german, open_folds, name):
    view(name, what="all")
    assert open_folds
    spoken = english = ""
    for _, data, _, _, about in open_folds:
        with speaking("de"):
            spoken += chart_files.table_html(chart_files._made(data), about.title)
        english += chart_files.to_csv(chart_files._in_english(data), about.mark).decode()
    assert "⟦" in spoken
    assert "⟦" not in english


def test_the_mark_of_a_file_is_read_in_ones_language_but_not_in_its_csv(log, german):
    about = chart_files.About("⟦t⟧", mark=chart_files.msg("INVENTED"))
    assert about.foot == "⟦t⟧ · ⟦INVENTED⟧"
    table = chart_files._in_english(lambda: chart_files.pd.DataFrame({"a": [1]}))
    rows = list(csv.DictReader(io.StringIO(chart_files.to_csv(table, about.mark).decode())))
    assert rows == [{"a": "1", "mark": "INVENTED"}]
    assert "⟦" not in json.dumps(rows, ensure_ascii=False)
