"""What a view read is read again only once something was written."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial

import pytest
from chart_makers import every_chart, rate_table
from page_helpers import stack

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.language import speaking
from advisor.pages.parts.chart_once import written
from advisor.pages.parts.review_charts import rates
from advisor.pages.review import kept as kept_module
from advisor.pages.review.kept import kept
from advisor.store.reviewing import Which
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting


@pytest.fixture(autouse=True)
def forgotten(monkeypatch):
    """Nothing is kept from another test, and no minute ends."""
    kept_module._reading.clear()
    monkeypatch.setattr(kept_module.time, "time", lambda: 1e9)


def coupon(size=5.0):
    result = InterfaceResult(size, size, FailureType.BUTTON)
    caps, now = Electrode(CapShape.DOME, 6.0), datetime.now(UTC)
    setting = Setting(9.0, 200.0, 2.5)
    return Coupon(now, "Sam", "Bay gun", caps, stack(1.0, 1.0), setting, (result,))


def asked(log, monkeypatch, name):
    """Count how often a reading really asks the log."""
    calls = []
    true = getattr(type(log), name)
    monkeypatch.setattr(type(log), name, lambda *a, **k: calls.append(a) or true(*a, **k))
    return calls


def test_a_reading_is_made_once_until_something_is_written(log, monkeypatch):
    calls = asked(log, monkeypatch, "failures")
    log.add_coupon(coupon(), "Sam")
    assert [kept(log).failures().welded for _ in range(3)] == [1, 1, 1]
    assert len(calls) == 1
    log.add_coupon(coupon(3.0), "Sam")
    assert (kept(log).failures().welded, kept(log).failures().failed) == (2, 1)
    assert len(calls) == 2


def test_what_is_asked_otherwise_is_another_reading(log, monkeypatch):
    calls = asked(log, monkeypatch, "failures")
    log.add_coupon(coupon(), "Sam")
    found = kept(log)
    assert found.failures(Which()).welded == 1
    assert found.failures(Which(until=date(2000, 1, 1))).welded == 0
    with speaking("de"):
        assert found.failures(Which()).welded == 1
    assert len(calls) == 3


def test_a_minute_later_it_is_read_again(log, monkeypatch):
    calls = asked(log, monkeypatch, "waiting")
    kept(log).waiting()
    kept(log).waiting()
    monkeypatch.setattr(kept_module.time, "time", lambda: 1e9 + 61)
    kept(log).waiting()
    assert len(calls) == 2


def test_all_else_of_the_log_is_the_log_s_own(log):
    found = kept(log)
    found.add_coupon(replace(coupon(), notes="through"), "Sam")
    assert found.recent_coupons()[0].coupon.notes == "through"
    assert found.url == log.url


# --- charts ---------------------------------------------------------------------------------------


def test_a_chart_of_the_same_figures_is_made_once():
    first = written(partial(rates, rate_table(), 0.9))
    assert written(partial(rates, rate_table(), 0.9)) is first
    assert written(partial(rates, rate_table(), 0.8)) is not first
    fewer = rate_table().iloc[:1]
    assert written(partial(rates, fewer, 0.9)) is not first
    with speaking("de"):
        assert written(partial(rates, rate_table(), 0.9)) is not first


def test_a_chart_asks_for_figures_that_go_with_it():
    for chart, _ in every_chart().values():
        made = written(chart)
        text = json.dumps(made.spec)
        assert made.frames
        assert all(f'"name": "{name}"' in text for name in made.frames)
