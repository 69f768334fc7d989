"""Why coupons fail: which few causes make up most of it.

A coupon may fail for several causes at once. So a cause has a share of the failing coupons, and
those shares may add up to more than one; the running sum is taken of all causes named, and ends at
one. The two are kept apart by their names.
"""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from advisor.errors import InputError
from advisor.language import say, say_number

COLUMNS = ("cause", "count", "share_of_coupons", "cumulative_of_causes")
#: What counts as most, and from how many failing coupons causes are ranked in words
#: (common practice, no source).
MOST, FEWEST = 0.8, 10


def pareto(counts: Mapping[str, int] | pd.DataFrame, failing: int) -> pd.DataFrame:
    """Return causes of failure, the most frequent first.

    Parameters
    ----------
    counts : mapping or DataFrame
        Failing coupons by cause; or columns ``cause`` and ``count``.
    failing : int
        Failing coupons in all.

    Returns
    -------
    DataFrame
        Columns of `COLUMNS`: cause, count of coupons, share of the failing coupons (may add up to
        more than one), running share of all causes named (ends at one). Causes that are as
        frequent keep their order; one that never came is left out.

    Raises
    ------
    InputError
        Counts that cannot be.
    """
    frame = _frame(counts)
    _check(frame, failing)
    seen = frame[frame["count"] > 0].sort_values(
        "count", ascending=False, kind="stable", ignore_index=True
    )
    named = seen["count"].sum()
    return seen.assign(
        share_of_coupons=seen["count"] / max(failing, 1),
        cumulative_of_causes=seen["count"].cumsum() / max(named, 1),
    )


def _frame(counts: Mapping[str, int] | pd.DataFrame) -> pd.DataFrame:
    if isinstance(counts, pd.DataFrame):
        frame = counts[["cause", "count"]]
    else:
        frame = pd.DataFrame({"cause": list(counts), "count": list(counts.values())})
    return frame.astype({"count": "int64"})


def _check(frame: pd.DataFrame, failing: int) -> None:
    for cause, count in zip(frame["cause"], frame["count"], strict=True):
        if not 0 <= count <= failing:
            raise InputError(
                say(
                    "{cause}: {count} of {failing} failing coupons cannot be; 0 to {failing} can",
                    cause=cause,
                    count=count,
                    failing=failing,
                )
            )


def pareto_words(table: pd.DataFrame, failing: int) -> str:
    """Return which few causes make up most, in a sentence.

    Parameters
    ----------
    table : DataFrame
        From `pareto`.
    failing : int
        Failing coupons in all.

    Returns
    -------
    str
        Most is 80 % of the causes named; few is half of them at most. Under 10 failing coupons
        the causes are not ranked.
    """
    if failing == 0:
        return say("No coupon failed.")
    if failing < FEWEST:
        return say_number(
            "{number} failing coupon: too few to say which causes make up most.",
            "{number} failing coupons: too few to say which causes make up most.",
            failing,
        )
    if len(table) == 1:
        cause = table["cause"].iloc[0]
        return say(
            "All {failing} failing coupons have one cause: {cause}.", failing=failing, cause=cause
        )
    return _few_words(table, failing)


def _few_words(table: pd.DataFrame, failing: int) -> str:
    few = int((table["cumulative_of_causes"] < MOST - 1e-9).sum()) + 1
    if 2 * few > len(table):
        return say(
            "No few of the {count} causes of {failing} failing coupons stand out.",
            count=len(table),
            failing=failing,
        )
    named = "; ".join(
        say(
            "{cause} ({count} of {failing} failing coupons)",
            cause=cause,
            count=count,
            failing=failing,
        )
        for cause, count in zip(table["cause"][:few], table["count"][:few], strict=True)
    )
    return say_number(
        "{number} of {count} causes makes up {share:.0f} % of all that was named: {named}.",
        "{number} of {count} causes make up {share:.0f} % of all that was named: {named}.",
        few,
        count=len(table),
        share=100 * table["cumulative_of_causes"].iloc[few - 1],
        named=named,
    )
