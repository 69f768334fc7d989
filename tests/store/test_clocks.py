"""Adhesive clocks live in the log: they survive a restart, and several run at once."""

from datetime import UTC, datetime, timedelta

import pytest

from advisor.bonding.adhesive import Adhesive, Span
from advisor.errors import InputError, RecordError
from advisor.store.log import open_log
from advisor.weld.stack import AdhesiveState

SLOW = Adhesive(
    "Slow", Span(40, 50), Span(90, 120), Span(1440, 1440), bead_mm=10, bond_line_mm=0.25
)
FAST = Adhesive("Fast", Span(5, 8), Span(20, 30), Span(240, 360))


@pytest.fixture
def mixed(log):
    log.save_adhesive(SLOW, "Lead")
    log.save_adhesive(FAST, "Lead")
    return datetime.now(UTC) - timedelta(minutes=20)


def test_two_clocks_run_and_survive_a_restart(log, url, mixed):
    log.start_clock("Slow", "sill", mixed, 21.0, "Kim")
    log.start_clock("fast", "coupons", mixed, 21.0, "Kim")
    log.close()
    again = open_log(url)
    slow, fast = again.running_clocks()
    assert (slow.adhesive, slow.used_for, slow.mixed_at) == (SLOW, "sill", mixed)
    now = mixed + timedelta(minutes=20)
    assert slow.state(now).state is AdhesiveState.WET
    assert slow.state(now).work_left_min == pytest.approx(20)
    assert fast.state(now).state is AdhesiveState.PART_CURED
    again.close()


def test_a_warmer_panel_shortens_the_work_time_left(log, mixed):
    clock = log.start_clock("Slow", "sill", mixed, 21.0, "Kim")
    log.add_temperature(clock, 31.0, mixed + timedelta(minutes=10), "Kim")
    (running,) = log.running_clocks()
    # 10 min at the warmer rate 2, nothing since: 20 of 40 label minutes left, at rate 2: 10 min.
    assert running.state(mixed + timedelta(minutes=10)).work_left_min == pytest.approx(10)


def test_a_stopped_clock_is_gone_and_takes_nothing_more(log, mixed):
    clock = log.start_clock("Slow", "sill", mixed, 21.0, "Kim")
    log.stop_clock(clock, "Kim")
    assert log.running_clocks() == []
    with pytest.raises(RecordError, match=f"no clock with the number {clock} runs"):
        log.add_temperature(clock, 20.0, mixed, "Kim")


def test_what_cannot_be_starts_no_clock(log, mixed):
    with pytest.raises(RecordError, match="no adhesive is called 'Glue'; known: Fast, Slow"):
        log.start_clock("Glue", "sill", mixed, 21.0, "Kim")
    with pytest.raises(InputError, match="which is in the future"):
        log.start_clock("Slow", "sill", mixed + timedelta(hours=2), 21.0, "Kim")
    with pytest.raises(InputError, match="panel temperature is 70 °C"):
        log.start_clock("Slow", "sill", mixed, 70.0, "Kim")
    assert log.running_clocks() == []


def test_clocks_since_a_moment_hold_the_stopped_ones(log, mixed):
    stopped = log.start_clock("Slow", "sill", mixed, 21.0, "Kim")
    log.start_clock("Fast", "coupons", mixed + timedelta(minutes=5), 21.0, "Kim")
    log.stop_clock(stopped, "Kim")
    slow, fast = log.clocks_since(mixed)
    assert slow.stopped_at is not None
    assert fast.stopped_at is None
    assert [each.used_for for each in log.clocks_since(mixed + timedelta(minutes=1))] == ["coupons"]
