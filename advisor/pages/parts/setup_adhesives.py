"""Adhesives of the shop, as their labels say."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.bonding.adhesive import Adhesive, Span
from advisor.errors import InputError
from advisor.language import msg, say
from advisor.pages.parts.drafts import draft, keep_or_show_both, started
from advisor.pages.parts.entry import quantity
from advisor.pages.session import Session

#: A choice, and a message for `say`.
NEW = msg("a new one …")
#: What most labels speak of (common practice, no source). [°C]
_USUAL_DEGC = 21.0
#: By part of an adhesive: what its ends are asked for by, and minutes in the unit asked in.
_SPANS = {
    "work": (msg("Work time, from [min]"), msg("Work time, to [min]"), 1.0),
    "clamp": (
        msg("Clamps may come off after, from [min]"),
        msg("Clamps may come off after, to [min]"),
        1.0,
    ),
    "cure": (msg("Full cure, from [h]"), msg("Full cure, to [h]"), 60.0),
}


def adhesives_tab(session: Session) -> None:
    """Draw the adhesives of the shop with their label times."""
    known = {adhesive.name: adhesive for adhesive in session.log.adhesives()}
    if not known:
        st.info(
            say(
                "No adhesive is entered yet, and a bonded joint needs one. Take the cartridge in "
                "your hand: name and times stand on its label or in the maker's sheet."
            )
        )
    chosen = st.selectbox(
        say("Adhesive"),
        [*known, NEW],
        format_func=lambda each: say(NEW) if each == NEW else each,
        key=f"adhesive·{len(known)}",
    )
    old = known.get(chosen)
    form = f"adhesive·{chosen}·label"
    with draft(session, form) as key:
        build = _ask_adhesive(session, key, started(key, old))
        pressed = st.button(say("Keep the adhesive"), type="primary", key=f"keep-{key}")
    st.caption(
        say("Copy the times from the label or the maker's sheet; the tool knows no product.")
    )

    def save(start: Adhesive | None) -> None:
        session.log.save_adhesive(build(), session.who, started_from=start)

    done = say("Adhesive kept.")
    if keep_or_show_both(session, form, old, pressed=pressed, action=save, done=done):
        st.rerun()


def _ask_adhesive(session: Session, key: str, old: Adhesive | None) -> Callable[[], Adhesive]:
    """Ask for an adhesive; what is returned builds it, or says what is missing."""
    # The choice above names an old one.
    name = old.name if old else st.text_input(say("Name on the cartridge"), key=f"{key}·name")
    spans = {part: _ask_span(key, part, getattr(old, part) if old else None) for part in _SPANS}
    degrees = st.number_input(
        say("Temperature the label speaks of [°C]"),
        value=old.label_degC if old else _USUAL_DEGC,
        format="%g",
        key=f"{key}·degC",
    )
    if old is None:
        st.caption(say("Filled in: room temperature, common practice, no source. The label rules."))
    left, right = st.columns(2)
    with left:
        first = old.bead_mm if old else None
        bead = quantity(say("Bead to lay"), "length", f"{key}·bead", session.units, first)
    with right:
        first = old.bond_line_mm if old else None
        line = quantity(say("Bond-line beads"), "thickness", f"{key}·line", session.units, first)
    note = st.text_input(
        say("Maker's sheet, page"), value=old.note if old else "", key=f"{key}·note"
    )

    def build() -> Adhesive:
        ranges = {}
        for part, (low, high) in spans.items():
            if low is None or high is None:
                raise InputError(
                    say("give all three time ranges; the same number twice where the label has one")
                )
            ranges[part] = Span(low, high)
        return Adhesive(
            name.strip(),
            **ranges,
            label_degC=degrees,
            note=note,
            bead_mm=bead,
            bond_line_mm=line,
        )

    return build


def _ask_span(key: str, part: str, before: Span | None) -> tuple[float | None, float | None]:
    """Ask for a range of the label and return it in minutes."""
    found = []
    shortest, longest, scale = _SPANS[part]
    low, high = (before.low_min, before.high_min) if before else (None, None)
    ends = ((shortest, "low", low), (longest, "high", high))
    for column, (words, end, start) in zip(st.columns(2), ends, strict=True):
        with column:
            typed = st.number_input(
                say(words),
                value=start / scale if start is not None else None,
                format="%g",
                key=f"{key}·{part}·{end}",
            )
        found.append(None if typed is None else typed * scale)
    return found[0], found[1]
