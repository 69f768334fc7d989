"""Weld layout: where the new welds of a flange go, beside the old ones, drawn to scale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.errors import AdvisorError
from advisor.language import msg, say
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.entry import quantity
from advisor.pages.parts.flange import show_layout
from advisor.pages.parts.plain import plain
from advisor.pages.parts.stack_entry import ask_stack
from advisor.pages.session import Session
from advisor.units import label
from advisor.weld.layout import Layout, propose
from advisor.weld.layout_entry import read_sites
from advisor.weld.layout_flange import (
    USUAL_CLEARANCE_MM,
    Flange,
    Needs,
    OldSite,
    evenly,
    needs_for,
)
from advisor.weld.layout_words import CHOSEN_BY, kept_to, remarks, why
from advisor.weld.stack import Stack

#: Makes the original welds from the size of a site. [mm]
_Read = Callable[[float], tuple[OldSite, ...]]
#: Words, field, key, start [mm] and help of one number.
_Quantity = tuple[str, str, str, float | None, str | None]
_FREE = 0
_PITCH, _LIST = msg("number and pitch"), msg("a list of places")
#: A usual electrode face. Common practice, no source. [mm]
_USUAL_MM = 6.0
FIRST = msg(
    "The vehicle maker's procedure says how many welds go where; this proposal is for where it "
    "leaves that open. Weld only a joint that is covered by passing coupons (Before welding)."
)
_ROW_TIP = msg("From the edge of the flange to the middle of the old welds.")
_SITE_TIP = msg(
    "Diameter of an old weld, or of the hole or hollow where it was drilled or ground out. "
    "{usual:g} mm is usual: common practice, no source."
)
_FACE_TIP = msg(
    "Face of the caps on the joint's machine; without a joint {usual:g} mm, common practice, no "
    "source."
)
_FIRST_TIP = msg(
    "From the end of the flange that is measured from to the middle of the first weld."
)
_CLEARANCE_TIP = msg(
    "Between an old site and a new weld. {usual:g} mm is usual: common practice, no source."
)
#: On paper the answer stands without the form.
_ON_PAPER = "<style>@media print { .st-key-layout-form { display: none; } }</style>"


@dataclass(frozen=True)
class _Asked:
    """What was typed: the joint or stack in words, the flange, and what new welds need."""

    what: str
    flange: Flange
    needs: Needs


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Weld layout"))
    st.info(say(FIRST))
    with st.container(key="layout-form"):
        st.html(_ON_PAPER)
        try:
            asked = _ask(session)
        except AdvisorError as error:
            st.error(plain(error))
            return
    if asked is None:
        return
    try:
        layout = propose(asked.flange, asked.needs)
    except AdvisorError as error:
        st.error(plain(error))
        return
    _answer(session, asked, layout)


def _ask(session: Session) -> _Asked | None:
    """Ask for everything; None while something is missing, which is named."""
    joint, key = _ask_joint(session)
    stack = joint.stack if joint else _ask_stack(session)
    lengths, read, missing = _ask_flange(session, joint, key)
    sizes = _ask_new(session, joint, key)
    typed = {**lengths, **sizes}
    missing = [*(words for words, value in typed.items() if value is None), *missing]
    if missing:
        st.info(say("Still needed: {missing}.", missing=", ".join(map(say, missing))))
    if missing or stack is None:
        return None
    length, width, row, size = (value or 0.0 for value in lengths.values())
    face, clearance = (value or 0.0 for value in sizes.values())
    flange = Flange(length, width, row, read(size))
    place = f"{joint.job} · {joint.name} · " if joint else ""
    what = place + stack.title(session.thickness)
    return _Asked(what, flange, needs_for(stack, face, clearance))


def _ask_joint(session: Session) -> tuple[Joint | None, str]:
    """Ask for a joint of an open job; without one, the sheets are asked for."""
    names = session.log.joint_names()
    options = [*sorted(names, reverse=True), _FREE]
    chosen = st.selectbox(
        say("For which joint?"),
        options,
        format_func=lambda number: names.get(number, say("other sheets …")),
        key=f"layout·joint·{len(options)}",
    )
    if chosen == _FREE:
        return None, str(chosen)
    joint = session.log.joint(chosen).joint
    st.caption(plain(joint.stack.title(session.thickness)))
    return joint, str(chosen)


def _ask_stack(session: Session) -> Stack | None:
    adhesives = [adhesive.name for adhesive in session.log.adhesives()]
    return ask_stack(session, "layout·stack", adhesives)


def _ask_row(session: Session, name: str, asked: Sequence[_Quantity]) -> list[float | None]:
    """Ask for lengths side by side, on a phone too."""
    found = []
    with st.container(key=f"row-layout-{name}"):
        columns = st.columns(len(asked))
    for column, (words, field, key, start, tip) in zip(columns, asked, strict=True):
        with column:
            found.append(quantity(words, field, f"layout·{key}", session.units, start, tip=tip))
    return found


def _ask_flange(
    session: Session, joint: Joint | None, key: str
) -> tuple[dict[str, float | None], _Read, list[str]]:
    st.subheader(say("The flange and its original welds"))
    length, width = _ask_row(
        session,
        "flange",
        [
            (say("Length"), "length", "length", None, None),
            (say("Width"), "length", "width", None, None),
        ],
    )
    row, size = _ask_row(
        session,
        "old",
        [
            (say("Row from edge"), "length", "row", None, say(_ROW_TIP)),
            (say("Old site"), "diameter", "size", _USUAL_MM, say(_SITE_TIP, usual=_USUAL_MM)),
        ],
    )
    read, missing = _ask_sites(session, joint, key)
    lengths = {
        msg("length of the flange"): length,
        msg("width of the flange"): width,
        msg("distance of the row from the edge"): row,
        msg("size of an old site"): size,
    }
    return lengths, read, missing


def _ask_new(session: Session, joint: Joint | None, key: str) -> dict[str, float | None]:
    st.subheader(say("The new welds"))
    clearance_tip = say(_CLEARANCE_TIP, usual=USUAL_CLEARANCE_MM)
    face_tip = say(_FACE_TIP, usual=_USUAL_MM)
    face, clearance = _ask_row(
        session,
        "new",
        [
            (say("Electrode face"), "diameter", f"face·{key}", _face(session, joint), face_tip),
            (say("Clearance"), "diameter", "clearance", USUAL_CLEARANCE_MM, clearance_tip),
        ],
    )
    return {msg("electrode face"): face, msg("clearance"): clearance}


def _ask_sites(session: Session, joint: Joint | None, key: str) -> tuple[_Read, list[str]]:
    """Ask for the original welds.

    Returns what reads them once every other field is on the page, so that a place that cannot be
    read takes nothing typed away, and what is still missing.
    """
    way = st.segmented_control(
        say("Given as"),
        [_PITCH, _LIST],
        default=_PITCH,
        format_func=say,
        key="layout·way",
        required=True,
    )
    if way != _LIST:
        return _ask_evenly(session, joint, key)
    unit = session.units.unit("length")
    text = st.text_area(
        say("Places from one end [{unit}]", unit=label(unit)),
        key=f"layout·places·{unit}",
        placeholder="20; 60; 104/10; 140",
        help=say("Middle of each old weld. Behind a slash the size of a site that differs."),
    )
    missing = [] if text and text.strip() else [msg("places of the original welds")]
    return lambda size_mm: read_sites(text or "", unit, size_mm), missing


def _ask_evenly(session: Session, joint: Joint | None, key: str) -> tuple[_Read, list[str]]:
    number = st.number_input(
        say("Number of welds"),
        value=joint.welds if joint else None,
        step=1,
        key=f"layout·number·{key}",
    )
    start = joint.pitch_mm if joint else None
    pitch, first = _ask_row(
        session,
        "pitch",
        [
            (say("Pitch"), "length", f"pitch·{key}", start, None),
            (say("First from end"), "length", "first", None, say(_FIRST_TIP)),
        ],
    )
    if number == 1 and pitch is None:
        pitch = 0.0
    typed = {
        msg("number of welds"): number,
        msg("pitch"): pitch,
        msg("place of the first weld"): first,
    }
    missing = [words for words, value in typed.items() if value is None]
    return lambda size_mm: evenly(int(number or 0), first or 0.0, pitch or 0.0, size_mm), missing


def _face(session: Session, joint: Joint | None) -> float:
    """Return the face of the caps fitted on the joint's machine; else a usual one. [mm]."""
    caps = session.log.bench(joint.machine).electrode if joint else None
    return caps.face_mm if caps else _USUAL_MM


def _answer(session: Session, asked: _Asked, layout: Layout) -> None:
    st.subheader(say("Proposed"))
    units = session.units

    def length(value_mm: float) -> str:
        return units.show("length", value_mm)

    st.html(
        f'<div class="card" role="status"><div class="small">{escape(asked.what)}</div>'
        f'<div class="name">{why(layout, length)}</div>{bullets(remarks(layout, length))}</div>'
    )
    show_layout(layout, units.unit("length"), length)
    st.download_button(
        say("Places as CSV"),
        data=layout.table().round(3).to_csv(index=False).encode(),
        file_name="weld_layout.csv",
        mime="text/csv",
        on_click="ignore",
    )
    st.html(bullets(kept_to(layout, length)))
    printed = say("Printing leaves the form out.")
    st.caption(f"{say(CHOSEN_BY)} {printed}")
