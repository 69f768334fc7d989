"""Why coupons fail, why joints have no coverage, and whether the advisor foretold it honestly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import partial

import pandas as pd
import streamlit as st

from advisor.coupons.matching import Condition
from advisor.language import msg, say
from advisor.pages.parts import review_charts
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.plain import plain
from advisor.pages.parts.ways import way
from advisor.pages.review.filters import ALL, Filters, ask_filters, mark_of, nothing_judged
from advisor.pages.session import Session
from advisor.review.foretold import honesty_of_sums, reliability_from_bins
from advisor.review.intervals import pass_rate
from advisor.review.pareto import pareto, pareto_words
from advisor.store.auditing import MOST_JOINTS, Waiting
from advisor.store.predictions import FORETOLD, Event
from advisor.store.reviewing import Failures

_EVENTS: dict[Event, str] = {"sound": msg("a sound weld"), "expulsion": msg("expulsion")}


def show(session: Session) -> None:
    """Draw the view."""
    filters = ask_filters(session, ALL)
    _causes(session, filters)
    _uncovered(session)
    _honesty(session, filters.which.machine)


def _causes(session: Session, filters: Filters) -> None:
    st.subheader(say("Why coupons failed"))
    found = session.log.failures(filters.which)
    if not found.judged:
        words = say("The few causes that make up most of the failures stand here.")
        nothing_judged(session, filters, words)
        return
    table = pareto(found.causes, found.failed)
    if len(table):
        downloads(
            partial(review_charts.pareto, table, found.failed),
            lambda: _causes_of(session, filters),
            "causes-of-failure",
            "causes",
            title=say("Causes of failure: {which}", which=filters.words),
            period=filters.words,
            mark=mark_of(session),
        )
    lines = [
        say(
            "{failed} of {judged} judged coupons failed ({which}).",
            failed=found.failed,
            judged=found.judged,
            which=filters.words,
        ),
        pareto_words(table, found.failed),
        _expelled_words(found),
    ]
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption(say("A coupon with two causes stands in both bars."))


def _causes_of(session: Session, filters: Filters) -> pd.DataFrame:
    """Return the causes in the language that is spoken now."""
    found = session.log.failures(filters.which)
    return pareto(found.causes, found.failed).rename(columns=_titles())


def _titles() -> dict[str, str]:
    """Return the headings of the tables; what a figure is of stands in the title of its chart."""
    return {
        "cause": say("cause"),
        "count": say("count"),
        "share_of_coupons": say("share of failing coupons"),
        "share_of_joints": say("share of joints without coverage"),
        "cumulative_of_causes": say("share of all that were named, running"),
        "bin_low": say("foretold, from"),
        "bin_high": say("foretold, to"),
        "foretold": say("foretold, mean"),
        "seen": say("seen [share]"),
        "low": say("low [share]"),
        "high": say("high [share]"),
        "reading": say("reading"),
    }


def _expelled_words(found: Failures) -> str:
    share = pass_rate(found.expelled, found.welded)
    return say(
        _EXPELLED if share.rate is None else _EXPELLED_SHARE,
        expelled=found.expelled,
        welded=found.welded,
        low=100 * share.low,
        high=100 * share.high,
    )


_EXPELLED = msg("{expelled} of {welded} threw metal out, whether or not they passed.")
_EXPELLED_SHARE = msg(
    "{expelled} of {welded} threw metal out ({low:.0f} to {high:.0f} %, Wilson 95 %), whether or "
    "not they passed."
)


def _uncovered(session: Session) -> None:
    st.subheader(say("Why joints have no coverage"))
    waiting = session.log.waiting()
    without = [each for each in waiting if each.lacks_coupons]
    if not waiting:
        words = say("No job is open, so no joint waits for its coupons.")
        way(session, words, say("Add a joint"), "before")
        return
    if not without:
        st.info(
            say(
                "Every one of {count} joints of open jobs is covered or released.",
                count=len(waiting),
            )
        )
        return
    downloads(
        partial(review_charts.reasons, _reasons_of(without), len(without)),
        lambda: _reasons_of(without).rename(columns=_titles()),
        "reasons-for-missing-coverage",
        "reasons",
        title=say("What keeps the nearest coupon from covering a joint"),
        mark=mark_of(session),
    )
    st.caption(
        say(
            "{without} of {count} joints of open jobs (the newest {most} are looked at). A joint "
            "may have several reasons; each is what differs between it and the nearest coupon of "
            "the log.",
            without=len(without),
            count=len(waiting),
            most=MOST_JOINTS,
        )
    )


def _reasons_of(without: Sequence[Waiting]) -> pd.DataFrame:
    """Return the reasons in the language that is spoken now."""
    counts = Counter(reason for each in without for reason in _reasons(each))
    table = pareto(counts, len(without))
    return table.rename(columns={"share_of_coupons": "share_of_joints"})


def _reasons(each: Waiting) -> list[str]:
    coverage = each.coverage
    if coverage.nearest is None:
        return [say("no coupon that comes near")]
    if not coverage.differences:
        return [say("too few passes in a row")]
    return list(dict.fromkeys(say(_REASONS[d.condition]) for d in coverage.differences))


#: What keeps a coupon from covering a joint, short enough for a row of a chart.
_REASONS = {
    Condition.MACHINE: msg("other machine, or repaired since"),
    Condition.ELECTRODE: msg("other caps, or new ones since"),
    Condition.STACK: msg("other sheets"),
    Condition.SURFACE: msg("other surface of a sheet"),
    Condition.ADHESIVE: msg("other adhesive, or its state"),
    Condition.SETTING: msg("other setting"),
    Condition.VERDICT: msg("coupon did not pass"),
    Condition.VOIDED: msg("coupon voided"),
    Condition.JOB: msg("welded for another job"),
    Condition.AGE: msg("coupon too old"),
}


def _foretold(bins: pd.DataFrame) -> pd.DataFrame:
    """Return what was foretold and seen in the language that is spoken now."""
    return reliability_from_bins(bins).rename(columns=_titles())


def _honesty(session: Session, machine: str | None) -> None:
    st.subheader(say("Did it happen as the advisor said?"))
    lines = []
    for event, name in _EVENTS.items():
        what = say(name)
        sums = session.log.foretold_sums(event, machine)
        if not sums.count:
            continue
        lines.append(f"{what}: {honesty_of_sums(sums, hoped_for=event == 'sound').words()}")
        bins = session.log.foretold_bins(event, machine)
        title = say(
            "Chance of {event}: foretold and seen, {machine}",
            event=what,
            machine=machine or say("all machines"),
        )
        st.markdown(f"#### {plain(title)}")
        downloads(
            partial(review_charts.reliability, reliability_from_bins(bins), what),
            partial(_foretold, bins),
            f"foretold-{event}",
            f"foretold-{event}",
            title=title,
            mark=mark_of(session),
        )
    if not lines:
        st.info(
            say(
                "Nothing was foretold yet: each coupon that is logged on the page Log a coupon "
                "keeps what the advisor said of its setting before the result was written down."
            )
        )
        return
    st.html(f'<div class="card">{bullets(lines)}</div>')
    st.caption(
        say(
            "At most the {count} newest coupons of which something was foretold. What was said was "
            "kept with the coupon, sealed, before its result; a coupon whose setting was corrected "
            "is left out.",
            count=FORETOLD,
        )
    )
