"""Counts kept beside the log, against the same counts made by hand."""

from datetime import date, timedelta

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from advisor.store.tally import parts

DAYS = st.dates(date(2019, 1, 1), date(2031, 12, 31))


def days_of(span, low, high):
    """Walk the days of the whole spans that start from `low` to before `high`."""
    starts = {"day": "D", "month": "MS", "year": "YS"}[span]
    for start in pd.date_range(low, high, freq=starts, inclusive="left"):
        end = start + {"day": pd.offsets.Day(1), "month": pd.offsets.MonthBegin(1)}.get(
            span, pd.offsets.YearBegin(1)
        )
        yield from pd.date_range(start, end, freq="D", inclusive="left")


@given(DAYS, st.integers(0, 1500))
def test_parts_hold_each_day_once_and_no_other(first, length):
    end = first + timedelta(days=length)
    found = [day for part in parts(first, end) for day in days_of(*part)]
    assert found == list(pd.date_range(first, end, freq="D", inclusive="left"))


@given(DAYS, st.integers(0, 4000))
def test_a_period_of_years_is_few_rows_a_combination(first, length):
    end = first + timedelta(days=length)
    spans = [
        len(pd.date_range(low, high, freq={"day": "D", "month": "MS", "year": "YS"}[span]))
        for span, low, high in parts(first, end)
    ]
    # At most two broken months of days, two broken years of months, and the years themselves.
    assert sum(spans) <= 2 * 31 + 2 * 12 + length // 365 + 5


def test_nothing_is_in_an_empty_period():
    assert parts(date(2026, 3, 1), date(2026, 3, 1)) == []
    assert parts(date(2026, 3, 2), date(2026, 3, 1)) == []
