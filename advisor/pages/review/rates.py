"""Pass rates by whom and what, read against the target, and two welders compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import cast

import pandas as pd
import streamlit as st

from advisor.pages.parts import review_charts
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.plain import closed, plain
from advisor.pages.review.filters import (
    Filters,
    ask_filters,
    ask_method,
    ask_target,
    mark_of,
    method_words,
)
from advisor.pages.session import Session
from advisor.review.comparison import compare
from advisor.review.intervals import Method, pass_rate
from advisor.review.standing import Reading, coupons_needed
from advisor.store.lead import ALIKE, rates
from advisor.store.reviewing import Group, Span

_GROUPS = {
    "welder": "Welder",
    "machine": "Machine",
    "adhesive_state": "Adhesive",
    "family": "Stack family",
    "stack": "Stack",
    "purpose": "First, set-up, release",
    "week": "Week",
    "month": "Month",
}
#: Periods that a chart can show.
_MOST_PERIODS = {"week": 26, "month": 24}


def show(session: Session) -> None:
    """Draw the view."""
    group = _ask_group()
    filters = ask_filters(session)
    with st.container(key="pair-target"):
        left, right = st.columns(2)
    with left:
        target = ask_target()
    with right:
        method = ask_method()
    if group in _MOST_PERIODS:
        _by_time(session, cast("Span", group), filters, target, method)
        return
    read = rates(session.log, cast("Group", group), filters.which, target, method)
    if not read:
        st.info(_nothing(filters))
        return
    _chart(session, read, group, filters, target, method)
    st.html(f'<div class="card">{bullets(_lines(read, target, method))}</div>')
    st.caption(_how(group, method))
    if group == "welder":
        _two(session, read, filters)


def _ask_group() -> str:
    chosen = st.segmented_control(
        "By",
        list(_GROUPS),
        default="welder",
        format_func=_GROUPS.__getitem__,
        key="by",
        required=True,
        bind="query-params",
    )
    return chosen or "welder"


def _nothing(filters: Filters) -> str:
    return (
        f"No coupon was judged among these: {plain(filters.words)}. Choose all coupons or a "
        "longer period."
    )


def _chart(
    session: Session,
    read: Sequence[Reading],
    group: str,
    filters: Filters,
    target: float,
    method: Method,
) -> None:
    table = pd.DataFrame([_row(each) for each in read])
    words = f"Pass rates by {_GROUPS[group].lower()}: {filters.words}"
    downloads(
        review_charts.rates(table, target, _GROUPS[group].lower()),
        _figures(read, group, method),
        f"pass-rates-{group}",
        f"rates-{group}",
        title=words,
        period=filters.words,
        mark=mark_of(session),
        alt_text=f"{words}. {read[0].name}: {read[0].words()}",
    )


def _row(each: Reading) -> dict[str, object]:
    raw, pooled = each.raw, each.pooled
    return {
        "name": closed(each.name),
        "pooled": pooled.rate if pooled else math.nan,
        "pooled_low": pooled.low if pooled else math.nan,
        "pooled_high": pooled.high if pooled else math.nan,
        "raw": math.nan if raw.rate is None else raw.rate,
        "raw_low": raw.low,
        "raw_high": raw.high,
        "count": f"{raw.passed} of {raw.judged}",
        "standing": each.standing.label,
        "reading": each.words(),
    }


def _figures(read: Sequence[Reading], group: str, method: Method) -> pd.DataFrame:
    own = f"{method_words(method)} 95 %"
    return pd.DataFrame(
        {
            _GROUPS[group].lower(): [each.name for each in read],
            "passed [coupons]": [each.passed for each in read],
            "failed [coupons]": [each.failed for each in read],
            "not yet judged [coupons]": [each.open for each in read],
            "rate [share]": [each.raw.rate for each in read],
            f"low, {own} [share]": [each.raw.low for each in read],
            f"high, {own} [share]": [each.raw.high for each in read],
            "pooled rate [share]": [each.pooled and each.pooled.rate for each in read],
            "pooled low [share]": [each.pooled and each.pooled.low for each in read],
            "pooled high [share]": [each.pooled and each.pooled.high for each in read],
            "standing": [each.standing.label for each in read],
        }
    )


def _lines(read: Sequence[Reading], target: float, method: Method) -> list[str]:
    """Return the table in words, so that a phone can wrap it."""
    return [f"{closed(each.name)}: {each.words()}{_needed(each, target, method)}" for each in read]


def _needed(each: Reading, target: float, method: Method) -> str:
    """Say how many more passes in a row would show a full score to be at the target."""
    if each.failed or not each.passed:
        return ""
    more = coupons_needed(each.passed, each.passed, target, method)
    return f"; {more} more passes in a row would show it" if more else ""


def _how(group: str, method: Method) -> str:
    leans = (
        "The thick bar leans on the others of the shop, the more the fewer coupons a row has "
        "(beta-binomial, partial pooling); the thin one is the row alone. "
        if group in ALIKE
        else ""
    )
    return (
        f"{leans}95 % intervals; the row alone: {method_words(method)}. Rows stand in this order: "
        "evidently below the target, lowest first; too few to say, most coupons first; at or above "
        "the target. A row with few coupons is never first or last by luck. Release coupons repeat "
        "a setting that had passed; first attempts and set-up coupons look for one. Voided coupons "
        "are left out. Days begin at midnight UTC."
    )


def _by_time(session: Session, span: Span, filters: Filters, target: float, method: Method) -> None:
    if span == "week" and filters.which.since is None:
        st.info("Weeks are counted from a day on: choose one of the periods.")
        return
    counts = session.log.counts_by_time(span, filters.which).tail(_MOST_PERIODS[span])
    if counts.empty:
        st.info(_nothing(filters))
        return
    found = [
        pass_rate(int(passed), int(passed + failed), method)
        for passed, failed in zip(counts["passed"], counts["failed"], strict=True)
    ]
    form = "%d %b %y" if span == "week" else "%b %y"
    table = pd.DataFrame(
        {
            "period": [day.strftime(form) for day in counts["starts"]],
            "raw": [math.nan if each.rate is None else each.rate for each in found],
            "raw_low": [each.low for each in found],
            "raw_high": [each.high for each in found],
            "count": [f"{each.passed} of {each.judged}" for each in found],
            "reading": [each.words() for each in found],
        }
    )
    words = f"Pass rate by {span}: {filters.words}"
    downloads(
        review_charts.by_period(table, target, span),
        table.rename(
            columns={"raw": "rate [share]", "raw_low": "low [share]", "raw_high": "high [share]"}
        ),
        f"pass-rate-by-{span}",
        f"rates-{span}",
        title=words,
        period=filters.words,
        mark=mark_of(session),
    )
    lines = [f"{row.period}: {row.reading}" for row in table.itertuples()]
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption(
        f"95 % intervals, {method_words(method)}. "
        + ("A week is named by its Monday. " if span == "week" else "Months are whole. ")
        + "Days begin at midnight UTC."
    )


def _two(session: Session, read: Sequence[Reading], filters: Filters) -> None:
    """Compare two welders on the same work; at first the first row and whom most is known of."""
    if len(read) < 2:
        return
    st.subheader("Two welders on the same work")
    names = sorted(each.name for each in read)
    most = max(read[1:], key=lambda each: each.raw.judged).name
    with st.container(key="pair-welders"):
        left, right = st.columns(2)
    with left:
        a = st.selectbox(
            "One",
            names,
            index=names.index(read[0].name),
            format_func=plain,
            key="a",
            bind="query-params",
        )
    with right:
        b = st.selectbox(
            "The other",
            names,
            index=names.index(most),
            format_func=plain,
            key="b",
            bind="query-params",
        )
    if a == b:
        st.info("Choose two different welders.")
        return
    found = compare(session.log.strata(a, b, filters.which), a, b)
    st.html(f'<div class="card">{bullets(found.sentences)}</div>')
    st.caption(
        "Only coupons of the same machine and stack are held against each other, so that who gets "
        "the harder stacks does not look worse for it: exact conditional test over the strata "
        "(Cochran-Mantel-Haenszel), two-sided mid-p; common odds ratio by Mantel and Haenszel, "
        "interval by Robins, Breslow and Greenland. The plain comparison beside it does not know "
        "the mix."
    )
