"""Pass rates by whom and what, read against the target, and two welders compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import cast

import pandas as pd
import streamlit as st

from advisor.language import figure, msg, say
from advisor.pages.parts import addressed, review_charts
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
    nothing_judged,
)
from advisor.pages.session import Session
from advisor.review.comparison import compare
from advisor.review.intervals import Method, PassRate, pass_rate
from advisor.review.standing import Reading, coupons_needed
from advisor.store.lead import ALIKE, rates
from advisor.store.reviewing import Group, Span

_GROUPS = {
    "welder": msg("Welder"),
    "machine": msg("Machine"),
    "adhesive_state": msg("Adhesive"),
    "family": msg("Stack family"),
    "stack": msg("Stack"),
    "purpose": msg("First, set-up, release"),
    "week": msg("Week"),
    "month": msg("Month"),
}
#: A row of each group, and the title of its chart.
_ROWS = {
    "welder": msg("welder"),
    "machine": msg("machine"),
    "adhesive_state": msg("adhesive"),
    "family": msg("stack family"),
    "stack": msg("stack"),
    "purpose": msg("first, set-up, release"),
}
_TITLES = {
    "welder": msg("Pass rates by welder: {which}"),
    "machine": msg("Pass rates by machine: {which}"),
    "adhesive_state": msg("Pass rates by adhesive: {which}"),
    "family": msg("Pass rates by stack family: {which}"),
    "stack": msg("Pass rates by stack: {which}"),
    "purpose": msg("Pass rates by first, set-up, release: {which}"),
    "week": msg("Pass rate by week: {which}"),
    "month": msg("Pass rate by month: {which}"),
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
        _nothing(session, filters)
        return
    _chart(session, read, group, filters, target, method)
    st.html(f'<div class="card">{bullets(_lines(read, target, method))}</div>')
    st.caption(_how(group, method))
    if group == "welder":
        _two(session, read, filters)


def _ask_group() -> str:
    return addressed.choose(
        st.segmented_control,
        say("By"),
        list(_GROUPS),
        lambda group: say(_GROUPS[group]),
        key="by",
        required=True,
    )


def _nothing(session: Session, filters: Filters) -> None:
    words = say("Each welder, machine and stack gets a row here, with how sure its rate is.")
    nothing_judged(session, filters, words)


def _chart(
    session: Session,
    read: Sequence[Reading],
    group: str,
    filters: Filters,
    target: float,
    method: Method,
) -> None:
    table = pd.DataFrame([_row(each) for each in read])
    words = say(_TITLES[group], which=filters.words)

    def figures() -> pd.DataFrame:
        # What a group is called may be in words, so it is asked anew in the language of a file.
        again = rates(session.log, cast("Group", group), filters.which, target, method)
        return _figures(again, group, method)

    downloads(
        partial(review_charts.rates, table, target, say(_ROWS[group])),
        figures,
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
        "count": _count(raw),
        "standing": each.standing.label,
        "reading": each.words(),
    }


def _count(found: PassRate) -> str:
    return say("{passed} of {judged}", passed=found.passed, judged=found.judged)


def _figures(read: Sequence[Reading], group: str, method: Method) -> pd.DataFrame:
    own = method_words(method)
    return pd.DataFrame(
        {
            say(_ROWS[group]): [each.name for each in read],
            say("passed [coupons]"): [each.passed for each in read],
            say("failed [coupons]"): [each.failed for each in read],
            say("not yet judged [coupons]"): [each.open for each in read],
            say("rate [share]"): [each.raw.rate for each in read],
            say("low, {method} 95 % [share]", method=own): [each.raw.low for each in read],
            say("high, {method} 95 % [share]", method=own): [each.raw.high for each in read],
            say("pooled rate [share]"): [each.pooled and each.pooled.rate for each in read],
            say("pooled low [share]"): [each.pooled and each.pooled.low for each in read],
            say("pooled high [share]"): [each.pooled and each.pooled.high for each in read],
            say("standing"): [each.standing.label for each in read],
        }
    )


def _lines(read: Sequence[Reading], target: float, method: Method) -> list[str]:
    """Return the table in words, so that a phone can wrap it."""
    return [f"{closed(each.name)}: {_read_words(each, target, method)}" for each in read]


def _read_words(each: Reading, target: float, method: Method) -> str:
    """Say a reading, and how many more passes would show a full score to be at the target."""
    full = each.passed and not each.failed
    more = coupons_needed(each.passed, each.passed, target, method) if full else 0
    if not more:
        return each.words()
    return say(
        "{reading}; {more} more passes in a row would show it", reading=each.words(), more=more
    )


def _how(group: str, method: Method) -> str:
    told = say(
        "95 % intervals; the row alone: {method}. Rows stand in this order: evidently below the "
        "target, lowest first; too few to say, most coupons first; at or above the target. A row "
        "with few coupons is never first or last by luck. Release coupons repeat a setting that "
        "had passed; first attempts and set-up coupons look for one. Voided coupons are left out. "
        "Days begin at midnight UTC.",
        method=method_words(method),
    )
    if group not in ALIKE:
        return told
    leans = say(
        "The thick bar leans on the others of the shop, the more the fewer coupons a row has "
        "(beta-binomial, partial pooling); the thin one is the row alone."
    )
    return f"{leans} {told}"


def _by_time(session: Session, span: Span, filters: Filters, target: float, method: Method) -> None:
    if span == "week" and filters.which.since is None:
        st.info(say("Weeks are counted from a day on: choose one of the periods."))
        return
    counts = session.log.counts_by_time(span, filters.which).tail(_MOST_PERIODS[span])
    if counts.empty:
        _nothing(session, filters)
        return
    found = [
        pass_rate(int(passed), int(passed + failed), method)
        for passed, failed in zip(counts["passed"], counts["failed"], strict=True)
    ]
    starts, table = list(counts["starts"]), _periods(list(counts["starts"]), found, span)
    downloads(
        partial(review_charts.by_period, table, target, span),
        lambda: _period_figures(_periods(starts, found, span)),
        f"pass-rate-by-{span}",
        f"rates-{span}",
        title=say(_TITLES[span], which=filters.words),
        period=filters.words,
        mark=mark_of(session),
    )
    lines = [f"{row.period}: {row.reading}" for row in table.itertuples()]
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption(say(_HOW_BY_TIME[span], method=method_words(method)))


_HOW_BY_TIME: dict[Span, str] = {
    "week": msg(
        "95 % intervals, {method}. A week is named by its Monday. Days begin at midnight UTC."
    ),
    "month": msg("95 % intervals, {method}. Months are whole. Days begin at midnight UTC."),
}


def _periods(starts: Sequence[date], found: Sequence[PassRate], span: Span) -> pd.DataFrame:
    form = "%d %b %y" if span == "week" else "%b %y"
    return pd.DataFrame(
        {
            "period": [figure(day, form) for day in starts],
            "raw": [math.nan if each.rate is None else each.rate for each in found],
            "raw_low": [each.low for each in found],
            "raw_high": [each.high for each in found],
            "count": [_count(each) for each in found],
            "reading": [each.words() for each in found],
        }
    )


def _period_figures(table: pd.DataFrame) -> pd.DataFrame:
    return table.rename(
        columns={
            "period": say("period"),
            "raw": say("rate [share]"),
            "raw_low": say("low [share]"),
            "raw_high": say("high [share]"),
            "count": say("count"),
            "reading": say("reading"),
        }
    )


def _two(session: Session, read: Sequence[Reading], filters: Filters) -> None:
    """Compare two welders on the same work; at first the first row and whom most is known of."""
    if len(read) < 2:
        return
    st.subheader(say("Two welders on the same work"))
    names = sorted(each.name for each in read)
    most = max(read[1:], key=lambda each: each.raw.judged).name
    with st.container(key="pair-welders"):
        left, right = st.columns(2)
    with left:
        a = st.selectbox(
            say("One"),
            names,
            index=names.index(read[0].name),
            format_func=plain,
            key="a",
            bind="query-params",
        )
    with right:
        b = st.selectbox(
            say("The other"),
            names,
            index=names.index(most),
            format_func=plain,
            key="b",
            bind="query-params",
        )
    if a == b:
        st.info(say("Choose two different welders."))
        return
    found = compare(session.log.strata(a, b, filters.which), a, b)
    st.html(f'<div class="card">{bullets(found.sentences)}</div>')
    st.caption(
        say(
            "Only coupons of the same machine and stack are held against each other, so that who "
            "gets the harder stacks does not look worse for it: exact conditional test over the "
            "strata (Cochran-Mantel-Haenszel), two-sided mid-p; common odds ratio by Mantel and "
            "Haenszel, interval by Robins, Breslow and Greenland. The plain comparison beside it "
            "does not know the mix."
        )
    )
