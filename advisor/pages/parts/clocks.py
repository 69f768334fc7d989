"""Running adhesive clocks: a strip on every page, and the entry that starts and feeds them."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape

import streamlit as st

from advisor.bonding.clock import ClockState
from advisor.language import say
from advisor.pages.parts.entry import attempt, quantity
from advisor.pages.parts.plain import closed, plain
from advisor.pages.parts.ways import go_button
from advisor.pages.session import Session
from advisor.store.clocks import RunningClock
from advisor.weld.stack import AdhesiveState

_TONE = {
    AdhesiveState.WET: "good",
    AdhesiveState.PART_CURED: "doubt",
    AdhesiveState.CURED: "bad",
}


@st.fragment(run_every=30)
def strip(session: Session) -> None:
    """Draw the running clocks in a line each; they move on by themselves."""
    now = datetime.now(UTC)
    html = "".join(_line(clock, now) for clock in session.log.running_clocks())
    if html:
        st.html(f'<div class="clocks">{html}</div>')


def _line(clock: RunningClock, now: datetime) -> str:
    found = clock.state(now)
    used = f" · {closed(clock.used_for)}" if clock.used_for else ""
    words = f"{closed(clock.adhesive.name)}{used} · {_rest(found)} · {_clamps(found, now)}"
    state = f"<b>{escape(found.state.label.upper())}</b>"
    return f'<div class="{_TONE[found.state]}">{state} {escape(words)}</div>'


def _rest(found: ClockState) -> str:
    cured = _local(found.cured_at)
    if found.state is AdhesiveState.WET:
        return say("work time {left:.0f} min left", left=found.work_left_min)
    if found.state is AdhesiveState.PART_CURED:
        return say("work time over, cured {cured:%d %b %H:%M}", cured=cured)
    return say("since {cured:%d %b %H:%M}", cured=cured)


def _clamps(found: ClockState, now: datetime) -> str:
    if found.clamps_off_at <= now:
        return say("clamps off unwelded now")
    return say("clamps off unwelded {at:%H:%M}", at=_local(found.clamps_off_at))


def entry(session: Session) -> None:
    """Draw the entry of clocks."""
    adhesives = [adhesive.name for adhesive in session.log.adhesives()]
    if not adhesives:
        st.caption(say("Adhesives with their label times are entered under Shop set-up."))
        go_button(session, say("Enter the adhesive"), "shop", "adhesives", where="clocks")
        return
    running = session.log.running_clocks()
    for clock in running:
        _running(session, clock)
    _start(session, adhesives, len(running))


def _running(session: Session, clock: RunningClock) -> None:
    st.markdown(
        say(
            "**{adhesive}** {used_for}, mixed {mixed:%H:%M}",
            adhesive=plain(clock.adhesive.name),
            used_for=plain(clock.used_for),
            mixed=_local(clock.mixed_at),
        )
    )
    key = f"clock·{clock.id}·{len(clock.readings)}"
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    with left:
        degC = quantity(say("Panel now"), "temperature", key, session.units)
    with middle:
        if st.button(say("Add temperature"), key=f"{key}·add", disabled=degC is None) and attempt(
            lambda: session.log.add_temperature(
                clock.id, degC or 0.0, datetime.now(UTC), session.who
            ),
            say("Temperature added."),
        ):
            st.rerun()
    with right:
        if st.button(say("Stop the clock"), key=f"{key}·stop") and attempt(
            lambda: session.log.stop_clock(clock.id, session.who), say("Clock stopped.")
        ):
            st.rerun()


def _start(session: Session, adhesives: list[str], count: int) -> None:
    key = f"clock·new·{count}"
    with st.form(key, border=False, enter_to_submit=False):
        left, right = st.columns(2)
        with left:
            name = st.selectbox(say("Mixed"), adhesives, key=f"{key}·name")
            used_for = st.text_input(
                say("For"), placeholder=say("panel or coupons"), key=f"{key}·for"
            )
        with right:
            degC = quantity(say("Panel temperature"), "temperature", f"{key}·t", session.units)
            ago = st.number_input(say("Minutes since mixing"), value=0, step=1, key=f"{key}·ago")
        started = st.form_submit_button(say("Start the clock"))
    st.caption(
        say(
            "Purge a little from the cartridge, then from the mixing tip, before use; a bead of "
            "about 10 mm (common practice, no source). The clock shortens the work time when it is "
            "warm and lengthens clamp and cure time when it is cold, never the other way. The "
            "label comes first."
        )
    )
    if not started:
        return
    if degC is None:
        st.error(say("Give the panel temperature: it decides how long the adhesive stays wet."))
        return
    mixed_at = datetime.fromtimestamp(datetime.now(UTC).timestamp() - 60 * (ago or 0), UTC)
    if attempt(
        lambda: session.log.start_clock(name, used_for, mixed_at, degC, session.who),
        say("Clock started."),
    ):
        st.rerun()


def _local(moment: datetime) -> datetime:
    return moment.astimezone()
