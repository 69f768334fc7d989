"""Causes of failure: ranked, shares of coupons and of causes kept apart, said in a sentence."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.review.pareto import COLUMNS, pareto, pareto_words

CAUSES = {"too small": 24, "interface failure": 8, "no button": 4, "metal thrown out": 4}


def test_the_most_frequent_comes_first_and_ties_keep_their_order():
    table = pareto({"a": 1, "b": 3, "c": 1, "d": 3}, 8)
    assert list(table["cause"]) == ["b", "d", "a", "c"]


def test_shares_are_of_coupons_and_the_running_sum_is_of_causes():
    table = pareto(CAUSES, 30)  # 40 causes named on 30 coupons
    assert tuple(table.columns) == COLUMNS
    assert list(table["share_of_coupons"]) == pytest.approx([0.8, 8 / 30, 4 / 30, 4 / 30])
    assert table["share_of_coupons"].sum() > 1
    assert list(table["cumulative_of_causes"]) == pytest.approx([0.6, 0.8, 0.9, 1.0])


def test_a_frame_says_the_same_as_a_mapping():
    frame = pd.DataFrame({"cause": list(CAUSES), "count": list(CAUSES.values()), "more": 1})
    pd.testing.assert_frame_equal(pareto(frame, 30), pareto(CAUSES, 30))


def test_a_cause_that_never_came_is_left_out():
    assert list(pareto({"a": 0, "b": 2}, 2)["cause"]) == ["b"]


def test_no_failure_is_an_empty_table():
    table = pareto({}, 0)
    assert table.empty
    assert tuple(table.columns) == COLUMNS
    assert pareto_words(table, 0) == "No coupon failed."


@pytest.mark.parametrize("count", [-1, 6])
def test_counts_that_cannot_be_are_refused(count):
    with pytest.raises(InputError, match=f"too small: {count} of 5 failing coupons cannot be"):
        pareto({"too small": count}, 5)


@given(st.lists(st.integers(0, 50), max_size=8))
def test_whatever_the_counts_the_running_sum_rises_to_one(counts):
    table = pareto({f"cause {n}": count for n, count in enumerate(counts)}, 50)
    assert table["count"].is_monotonic_decreasing
    assert table["cumulative_of_causes"].is_monotonic_increasing
    assert table["count"].sum() == sum(counts)
    if sum(counts):
        assert table["cumulative_of_causes"].iloc[-1] == pytest.approx(1)
    assert pareto_words(table, 50)


def said(counts, failing):
    return pareto_words(pareto(counts, failing), failing)


def test_the_few_that_make_up_most_are_named_with_their_counts():
    assert said(CAUSES, 30) == (
        "2 of 4 causes make up 80 % of all that was named: too small (24 of 30 failing coupons); "
        "interface failure (8 of 30 failing coupons)."
    )


def test_one_cause_may_make_up_most():
    assert said({"a": 17, "b": 3}, 20).startswith("1 of 2 causes makes up 85 %")
    assert said({"a": 20}, 20) == "All 20 failing coupons have one cause: a."


def test_nothing_is_ranked_where_causes_are_alike_or_failures_few():
    assert said({"a": 5, "b": 5, "c": 5}, 12) == (
        "No few of the 3 causes of 12 failing coupons stand out."
    )
    assert said({"a": 8, "b": 1}, 9) == (
        "9 failing coupons: too few to say which causes make up most."
    )
    assert said({"a": 1}, 1).startswith("1 failing coupon:")
