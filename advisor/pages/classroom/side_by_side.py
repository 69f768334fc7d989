"""Two stacks side by side: set them as you like, and see their welds grow and their windows."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import pandas as pd
import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import msg, say
from advisor.pages.classroom import showing
from advisor.pages.classroom.paper import hand_out_button
from advisor.pages.parts import weld_cache
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.entry import pick, quantity
from advisor.pages.parts.plain import plain
from advisor.pages.parts.weld_charts import window_chart
from advisor.pages.review.filters import mark_of
from advisor.pages.session import Session
from advisor.teaching.figures import Cell, Room, rooms
from advisor.teaching.lesson import Shown
from advisor.teaching.words import BARE, CALCULATED, start_words
from advisor.units import from_inner, label
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

_SURFACES = [
    Surface.GROUND_BARE,
    Surface.GALVANNEALED,
    Surface.ELECTRO_ZINC,
    Surface.HOT_DIP_ZINC,
    Surface.ALUMINIUM_SILICON,
    Surface.WELD_PRIMER,
]
_FIRST = {"A": (0.8, 0.8, 1.0), "B": (1.6, 1.6, 1.0)}


def show(session: Session) -> None:
    """Draw the view."""
    welds = []
    for column, name in zip(st.columns(2), _FIRST, strict=True):
        with column:
            welds.append(_ask(session, name))
    st.caption(start_words())
    hidden = st.toggle(say("Guess first: hide what comes out"), key="beside·guess")
    if hidden and not st.toggle(say("Reveal"), key="beside·reveal"):
        st.caption(say("Let the class decide which weld is the larger one, and whether both pass."))
        return
    found = [each for each in welds if each is not None]
    if len(found) < len(welds):
        return
    histories = showing.calculated(found)
    if histories is None:
        return
    showing.sections(session, found, histories, "beside")
    showing.figures_table(session, found, histories)
    title = say("Two stacks side by side")
    showing.curves(session, found, histories, "beside", title)
    _windows(session, found)
    st.caption(say(CALCULATED))
    described = tuple(_described(session, each) for each in found)
    hand_out_button(session, found, histories, "side-by-side", title=title, described=described)


def _described(session: Session, shown: Shown) -> str:
    stack = shown.stack.title(session.thickness)
    return f"{shown.name}: {', '.join([stack, *showing.dials(session, shown)])}"


def _ask(session: Session, name: str) -> Shown | None:
    """Ask for a stack and its setting; say what is wrong, and keep what was typed."""
    key = f"beside·{name}"
    with st.container(border=True):
        st.markdown(f"**{say('Stack {name}', name=name)}**")
        try:
            stack = _ask_stack(session, name, key)
            if stack is None:
                st.caption(say("Give every sheet its thickness."))
                return None
            return _ask_setting(session, name, key, stack)
        except AdvisorError as error:
            st.error(plain(error))
            return None


def _ask_stack(session: Session, name: str, key: str) -> Stack | None:
    count = st.segmented_control(
        say("Sheets"), [2, 3], default=2, key=f"{key}·count", required=True
    )
    thicknesses = []
    for number in range(count or 2):
        words, start = say("Sheet {number}", number=number + 1), _FIRST[name][number]
        thicknesses.append(quantity(words, "thickness", f"{key}·t{number}", session.units, start))
    family = pick(say("Metal"), list(SteelFamily), f"{key}·family", SteelFamily.LOW_CARBON)
    surface = pick(say("Surface"), _SURFACES, f"{key}·surface", Surface.GROUND_BARE)
    bond = _ask_bond(key)
    if any(each is None for each in thicknesses):
        return None
    sheets = tuple(Sheet(t, family, surface, surface) for t in thicknesses if t is not None)
    return Stack(sheets, (bond,) * (len(sheets) - 1))


def _ask_bond(key: str) -> Bond:
    """Ask what lies between all of the sheets; whose adhesive it is changes nothing here."""
    state = pick(say("Between the sheets"), list(AdhesiveState), f"{key}·bond", AdhesiveState.NONE)
    return Bond() if state is AdhesiveState.NONE else Bond(say("Adhesive"), state)


def _ask_setting(session: Session, name: str, key: str, stack: Stack) -> Shown | None:
    # The toggle comes first: where nothing is published, a setting can still be typed.
    follows = st.toggle(
        say("Setting follows the published start (uncoated steel: medium force, long time)"),
        value=True,
        key=f"{key}·follows",
    )
    if follows:
        start = published_start(stack, BARE)
        _keep(session, key, start)
        st.caption(_start_words(session, start))
        chosen: tuple[float | None, ...] = _of(start)
    else:
        chosen = _typed(session, key)
    pitch = None
    if st.toggle(say("Beside an earlier weld"), key=f"{key}·beside"):
        pitch = quantity(say("Pitch"), "length", f"{key}·pitch", session.units, 15.0)
    if any(each is None for each in chosen):
        st.caption(say("Give current, time, force and face."))
        return None
    current, time, force, face = (float(each) for each in chosen if each is not None)
    cap = Electrode(CapShape.FLAT, face)
    return Shown(name, "", stack, Setting(current, time, force), cap, pitch)


def _of(start: PublishedStart) -> tuple[float, float, float, float]:
    return start.current_kA, start.weld_ms, start.force_kN, start.face_mm


def _keep(session: Session, key: str, start: PublishedStart) -> None:
    """Remember the start as what the fields begin with when the setting is let go."""
    st.session_state[f"{key}·kept"] = _of(start)


def _start_words(session: Session, start: PublishedStart) -> str:
    units = session.units
    return say(
        "{current}, {time}, {force}, face {face}: {basis}.",
        current=units.show("current", start.current_kA),
        time=units.show("time", start.weld_ms),
        force=units.show("force", start.force_kN),
        face=units.show("diameter", start.face_mm),
        basis=start.basis,
    )


def _typed(session: Session, key: str) -> tuple[float | None, ...]:
    kept = st.session_state.get(f"{key}·kept", (8.0, 200.0, 2.0, 5.0))
    asked = (
        (say("Current"), "current"),
        (say("Time"), "time"),
        (say("Force"), "force"),
        (say("Face"), "diameter"),
    )
    return tuple(
        quantity(words, field, f"{key}·{field}", session.units, float(start))
        for (words, field), start in zip(asked, kept, strict=True)
    )


def _windows(session: Session, welds: Sequence[Shown]) -> None:
    with st.expander(
        say("The window of each stack"), key="beside-windows", on_change="rerun"
    ) as fold:
        if not fold.open:
            return
        st.write(
            say(
                "Which currents make a weld that is large enough without expulsion, for several "
                "weld times at the force and face above. An end of a bar is the last current that "
                "was good, so the true edge lies up to one step further. Where no expulsion "
                "follows, the window may go on beyond what was tried."
            )
        )
        for shown in welds:
            _window(session, shown)


def _window(session: Session, shown: Shown) -> None:
    title = say("{weld}: {stack}", weld=shown.name, stack=shown.stack.title(session.thickness))
    st.markdown(f"**{title}**")
    place = st.empty()
    if not weld_cache.is_mapped(shown):
        bar = place.progress(0.0, say("Calculating the window of {weld} …", weld=shown.name))
        found = weld_cache.cells(shown, showing.told(bar, 0, 1))
        place.empty()
    else:
        found = weld_cache.cells(shown)
    units = session.units
    current, time, size = (units.unit(each) for each in ("current", "time", "diameter"))
    frame = pd.DataFrame(
        {
            "current": [from_inner("current", each.current_kA, current) for each in found],
            "time": [from_inner("time", each.weld_ms, time) for each in found],
            "size": [from_inner("diameter", each.size_mm, size) for each in found],
            "what": [_what(each) for each in found],
        }
    )
    left = rooms(found)
    ends = (frame["current"].min(), frame["current"].max())
    downloads(
        partial(window_chart, _bars(session, left), ends, label(current)),
        lambda: _figures(frame, current, time, size),
        f"window-{shown.name}",
        f"window-{shown.name}",
        title=title,
        mark=mark_of(session),
        alt_text=f"{title}: {'; '.join(_room_words(session, each) for each in left)}",
    )


def _bars(session: Session, left: Sequence[Room]) -> pd.DataFrame:
    unit = session.units.unit("current")

    def shown(value_kA: float | None) -> float:
        return np.nan if value_kA is None else from_inner("current", value_kA, unit)

    return pd.DataFrame(
        {
            "time": [session.units.show("time", each.weld_ms) for each in left],
            "lowest": [shown(each.lowest_kA) for each in left],
            "highest": [shown(each.highest_kA) for each in left],
            "out": [shown(each.out_kA) for each in left],
        }
    )


def _room_words(session: Session, room: Room) -> str:
    units = session.units
    time = units.show("time", room.weld_ms)
    if room.lowest_kA is None or room.highest_kA is None:
        return say("{time}: no window", time=time)
    return say(
        "{time}: {lowest} to {highest}",
        time=time,
        lowest=units.show("current", room.lowest_kA),
        highest=units.show("current", room.highest_kA),
    )


def _figures(frame: pd.DataFrame, current: str, time: str, size: str) -> pd.DataFrame:
    # Said here: the table is in the reader's language, the CSV in English.
    return frame.assign(what=frame["what"].map(say)).rename(
        columns={
            "current": say("current [{unit}]", unit=label(current)),
            "time": say("time [{unit}]", unit=label(time)),
            "size": say("size [{unit}]", unit=label(size)),
            "what": say("what"),
        }
    )


def _what(cell: Cell) -> str:
    if cell.throws_out:
        return msg("expulsion")
    return msg("large enough") if cell.is_large_enough else msg("smaller than the minimum")
