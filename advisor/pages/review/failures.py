"""Why coupons fail, why joints have no coverage, and whether the advisor foretold it honestly."""

from __future__ import annotations

from collections import Counter

import streamlit as st

from advisor.pages.parts import review_charts
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.plain import plain
from advisor.pages.review.filters import ALL, Filters, ask_filters, mark_of
from advisor.pages.session import Session
from advisor.review.foretold import honesty_of_sums, reliability_from_bins
from advisor.review.intervals import pass_rate
from advisor.review.pareto import pareto, pareto_words
from advisor.store.auditing import MOST_JOINTS, Waiting
from advisor.store.predictions import FORETOLD, Event

_EVENTS: dict[Event, str] = {"sound": "a sound weld", "expulsion": "expulsion"}


def show(session: Session) -> None:
    """Draw the view."""
    filters = ask_filters(session, ALL)
    _causes(session, filters)
    _uncovered(session)
    _honesty(session, filters.which.machine)


def _causes(session: Session, filters: Filters) -> None:
    st.subheader("Why coupons failed")
    found = session.log.failures(filters.which)
    if not found.judged:
        st.info(f"No coupon was judged among these: {plain(filters.words)}.")
        return
    table = pareto(found.causes, found.failed)
    if len(table):
        downloads(
            review_charts.pareto(table, found.failed),
            table,
            "causes-of-failure",
            "causes",
            title=f"Causes of failure: {filters.words}",
            period=filters.words,
            mark=mark_of(session),
        )
    spat = pass_rate(found.expelled, found.welded)
    share = "" if spat.rate is None else f" ({spat.low:.0%} to {spat.high:.0%}, Wilson 95 %)"
    lines = [
        f"{found.failed} of {found.judged} judged coupons failed ({filters.words}).",
        pareto_words(table, found.failed),
        f"{found.expelled} of {found.welded} threw metal out{share}, whether or not they passed.",
    ]
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption("A coupon with two causes stands in both bars.")


def _uncovered(session: Session) -> None:
    st.subheader("Why joints have no coverage")
    waiting = session.log.waiting()
    without = [each for each in waiting if each.lacks_coupons]
    if not without:
        st.info(f"Every one of {len(waiting)} joints of open jobs is covered or released.")
        return
    counts = Counter(reason for each in without for reason in _reasons(each))
    table = pareto(counts, len(without)).rename(columns={"share_of_coupons": "share_of_joints"})
    downloads(
        review_charts.reasons(table, len(without)),
        table,
        "reasons-for-missing-coverage",
        "reasons",
        title="What keeps the nearest coupon from covering a joint",
        mark=mark_of(session),
    )
    st.caption(
        f"{len(without)} of {len(waiting)} joints of open jobs (the newest {MOST_JOINTS} are "
        "looked at). A joint may have several reasons; each is what differs between it and the "
        "nearest coupon of the log."
    )


def _reasons(each: Waiting) -> list[str]:
    coverage = each.coverage
    if coverage.nearest is None:
        return ["no coupon that comes near"]
    if not coverage.differences:
        return ["too few passes in a row"]
    return list(dict.fromkeys(d.condition.label for d in coverage.differences))


def _honesty(session: Session, machine: str | None) -> None:
    st.subheader("Did it happen as the advisor said?")
    lines = []
    for event, what in _EVENTS.items():
        sums = session.log.foretold_sums(event, machine)
        if not sums.count:
            continue
        lines.append(f"{what}: {honesty_of_sums(sums, hoped_for=event == 'sound').words()}")
        table = reliability_from_bins(session.log.foretold_bins(event, machine))
        downloads(
            review_charts.reliability(table, what),
            table,
            f"foretold-{event}",
            f"foretold-{event}",
            title=f"Chance of {what}: foretold and seen, {machine or 'all machines'}",
            mark=mark_of(session),
        )
    if not lines:
        st.info(
            "Nothing was foretold yet: each coupon that is logged on the page Log a coupon keeps "
            "what the advisor said of its setting before the result was written down."
        )
        return
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption(
        f"The {FORETOLD} newest coupons of which something was foretold. What was said was kept "
        "with the coupon, sealed, before its result; a coupon whose setting was corrected is left "
        "out."
    )
