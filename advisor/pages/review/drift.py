"""Drift of a machine with its caps: weighted average, single coupons, ranges, wear of the caps."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial

import pandas as pd
import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import msg, say, say_number
from advisor.pages.parts import addressed, drift_charts
from advisor.pages.parts.cards import bullets, state
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.chart_once import Drawing
from advisor.pages.parts.plain import closed, plain
from advisor.pages.parts.ways import nothing_logged, way
from advisor.pages.review.filters import ask_machine, mark_of
from advisor.pages.session import Session
from advisor.review.control_charts import Rule
from advisor.review.drift import DriftLimits, DriftReading
from advisor.review.wear import curve
from advisor.store.lead import MachineDrift, drift_of
from advisor.store.reviewing import NEWEST, STABLE
from advisor.weld.electrode import Electrode

#: What was done to a machine, in words short enough for a chart.
_DONE = {
    "fitted": msg("new caps"),
    "dressed": msg("dressed"),
    "repaired": msg("repair"),
    "settled": msg("anew"),
}
_MOST_EVENTS = 200


def show(session: Session) -> None:
    """Draw the view."""
    left, right = st.columns(2)
    with left:
        machine = ask_machine(session, key="gun")
    with right:
        electrode = _ask_electrode(session.log.electrodes(machine))
    if electrode is None:
        words = say("Note under Shop set-up which caps are fitted: drift is told for each of them.")
        way(session, words, say("Note the caps"), "shop", "machines")
        return
    alike = st.toggle(
        say("Like for like: take out what stack and setting explain"),
        value=True,
        key="alike",
        bind="query-params",
    )
    found = drift_of(session.log, machine, electrode, like_for_like=alike)
    if found is not None:
        _reading(session, found)
        words = say("Drift is told from the first stable coupons with these caps on.")
        if found.reading.limits is None:
            nothing_logged(session, words)
        _anew(session, machine)


def _ask_electrode(had: list[Electrode]) -> Electrode | None:
    if len(had) < 2:
        return had[0] if had else None
    return addressed.choose(st.selectbox, say("Caps"), had, Electrode.title, key="caps")


def _reading(session: Session, found: MachineDrift) -> None:
    reading = found.reading
    tone, mark = ("bad", "!") if reading.is_drifting else ("good", "✓")
    if reading.limits is None:
        tone, mark = "doubt", "?"
    st.html(
        f'<div class="card {tone}">{state(tone, closed(reading.headline), mark)}'
        f"{bullets(reading.sentences)}</div>"
    )
    if reading.limits is not None:
        _charts(session, found, reading, reading.limits)


def _charts(
    session: Session, found: MachineDrift, reading: DriftReading, limits: DriftLimits
) -> None:
    points = reading.points
    events = _events(session, found.machine, points)
    name = f"{found.machine}, {found.electrode.title()}"
    if reading.signal_texts:
        count = len(reading.signal_texts)
        with st.expander(
            say_number("{number} signal in words", "{number} signals in words", count)
        ):
            st.html(f'<div class="card">{bullets(reading.signal_texts[::-1])}</div>')
            st.caption(
                say(
                    "Only the weighted average tells drift. The other rules point at coupons to "
                    "look at; on a steady machine a jump or a run comes up now and then by chance."
                )
            )
    average = partial(
        drift_charts.ewma, _with(points, Rule.AVERAGE), limits.centre, limits.minimum, events
    )
    _chart(session, average, found, "weighted average", name)
    looked_at = _with(points, Rule.BEYOND, Rule.RUN, Rule.NO_BUTTON)
    single = partial(drift_charts.individuals, looked_at, limits.centre, limits.minimum, events)
    _chart(session, single, found, "single coupons", name)
    with st.expander(say("Moving range"), key="ranges", on_change="rerun") as part:
        ranged = _with(points, Rule.JUMP).dropna(subset=["range"])
        if part.open and len(ranged):
            chart = partial(
                drift_charts.ranges, ranged, limits.mean_range, limits.largest_range, events
            )
            _chart(session, chart, found, "from one coupon to the next", name)
    _wear(session, reading, limits, name)
    st.caption(
        say(
            "Size at the weakest interface over √t of its governing sheet, against the shop's "
            "minimum. Limits come from the first {stable} coupons with these caps since they were "
            "first fitted, since the last repair, or since a lead let them begin anew; they are "
            "widened for what so few coupons leave unsure. Shown besides: the newest {newest} "
            "since.",
            stable=STABLE,
            newest=NEWEST,
        )
    )


#: Titles of the charts by what names their files.
_TITLES = {
    "weighted average": msg("Weighted average (EWMA, λ 0.2)"),
    "single coupons": msg("Single coupons"),
    "from one coupon to the next": msg("From one coupon to the next"),
}


def _chart(session: Session, chart: Drawing, found: MachineDrift, stem: str, name: str) -> None:
    what = say(_TITLES[stem])
    st.subheader(what)
    downloads(
        chart,
        lambda: _figures(found.reading.points),
        f"drift {stem} {name}",
        f"drift-{stem}",
        title=f"{what}: {name}",
        mark=mark_of(session),
    )


def _with(points: pd.DataFrame, *rules: Rule) -> pd.DataFrame:
    """Return the points with the signals of some rules only, those that a chart can show."""
    shown = [
        "; ".join(rule.label for rule in rules if rule.label in said.split("; "))
        for said in points["signal"]
    ]
    return points.assign(signal=shown, order=range(1, len(points) + 1))


def _figures(points: pd.DataFrame) -> pd.DataFrame:
    names = {
        "number": say("coupon"),
        "day": say("welded"),
        "value": say("size/√t as tested [mm/√mm]"),
        "adjusted": say("size/√t like for like [mm/√mm]"),
        "ewma": say("weighted average [mm/√mm]"),
        "ewma_lower": say("average, lower limit [mm/√mm]"),
        "ewma_upper": say("average, upper limit [mm/√mm]"),
        "lower": say("coupon, lower limit [mm/√mm]"),
        "upper": say("coupon, upper limit [mm/√mm]"),
        "range": say("range [mm/√mm]"),
        "welds": say("welds since dressing"),
        "phase": say("phase"),
        "signal": say("signal"),
    }
    return points[list(names)].rename(columns=names)


def _events(session: Session, machine: str, points: pd.DataFrame) -> pd.DataFrame:
    """Return what was done to the machine between the coupons shown, at its place among them."""
    made = points["made_at"]
    rows = [
        {"order": int((made < event.at).sum()) + 0.5, "what": _done(event.kind)}
        for event in session.log.events(machine, _MOST_EVENTS)
        if made.iloc[0] <= event.at <= made.iloc[-1]
    ]
    return pd.DataFrame(rows, columns=["order", "what"]).drop_duplicates("order")


def _done(kind: str) -> str:
    return say(_DONE[kind]) if kind in _DONE else kind


def _wear(session: Session, reading: DriftReading, limits: DriftLimits, name: str) -> None:
    st.subheader(say("Wear of the caps"))
    wear = reading.wear
    if wear.refusal:
        st.info(wear.refusal)
        return
    points = reading.points[reading.points["known"]]
    points = points[["number", "welds", "adjusted"]].dropna()
    points = points.rename(columns={"adjusted": "value"})
    line = curve(points["welds"], points["value"])
    band = say("90 of 100 single welds")
    downloads(
        partial(drift_charts.wear, points, line, limits.minimum, wear.dressing_interval, band=band),
        lambda: points.rename(
            columns={
                "number": say("coupon"),
                "welds": say("welds since dressing"),
                "value": say("size/√t [mm/√mm]"),
            }
        ),
        f"wear {name}",
        "drift-wear",
        title=say("Size against welds since dressing: {machine}", machine=name),
        mark=mark_of(session),
    )
    st.html(f'<div class="card">{bullets(wear.sentences)}</div>')


def _anew(session: Session, machine: str) -> None:
    """Let a lead begin the limits anew, after something that is no repair."""
    with st.expander(say("Let the limits begin anew")):
        st.markdown(
            say(
                "After a change that is no repair (new water, another supply of sheets) the old "
                "stable period no longer fits. From now on the next {stable} coupons make the "
                "limits.",
                stable=STABLE,
            )
        )
        why = st.text_input(say("Why"), key=f"anew·{machine}")
        if st.button(say("Begin anew from now"), key=f"anew·do·{machine}"):
            try:
                session.log.settle(machine, datetime.now(UTC), session.who, why)
            except AdvisorError as error:
                st.error(plain(error))
                return
            st.session_state["said"] = say("The limits of {machine} begin anew.", machine=machine)
            st.rerun()
