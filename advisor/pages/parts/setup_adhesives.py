"""Adhesives of the shop, as their labels say."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.bonding.adhesive import Adhesive, Span
from advisor.errors import InputError
from advisor.pages.parts.drafts import draft, keep_or_show_both, started
from advisor.pages.parts.entry import quantity
from advisor.pages.session import Session

NEW = "a new one …"
_SPANS = {
    "work": ("Work time", 1.0),
    "clamp": ("Clamps may come off after", 1.0),
    "cure": ("Full cure", 60.0),
}


def adhesives_tab(session: Session) -> None:
    """Draw the adhesives of the shop with their label times."""
    known = {adhesive.name: adhesive for adhesive in session.log.adhesives()}
    chosen = st.selectbox("Adhesive", [*known, NEW], key=f"adhesive·{len(known)}")
    old = known.get(chosen)
    form = f"adhesive·{chosen}·label"
    with draft(session, form) as key:
        build = _ask_adhesive(session, key, started(key, old))
        pressed = st.button("Keep the adhesive", type="primary", key=f"keep-{key}")
    st.caption("Copy the times from the label or the maker's sheet; the tool knows no product.")

    def save(start: Adhesive | None) -> None:
        session.log.save_adhesive(build(), session.who, started_from=start)

    done = "Adhesive kept."
    if keep_or_show_both(session, form, old, pressed=pressed, action=save, done=done):
        st.rerun()


def _ask_adhesive(session: Session, key: str, old: Adhesive | None) -> Callable[[], Adhesive]:
    """Ask for an adhesive; what is returned builds it, or says what is missing."""
    name = st.text_input(
        "Name on the cartridge",
        value=old.name if old else "",
        disabled=old is not None,
        key=f"{key}·name",
    )
    spans = {
        part: _ask_span(key, part, words, scale, getattr(old, part) if old else None)
        for part, (words, scale) in _SPANS.items()
    }
    degrees = st.number_input(
        "Temperature the label speaks of [°C]",
        value=old.label_degC if old else 21.0,
        key=f"{key}·degC",
    )
    left, right = st.columns(2)
    with left:
        first = old.bead_mm if old else None
        bead = quantity("Bead to lay", "length", f"{key}·bead", session.units, first)
    with right:
        first = old.bond_line_mm if old else None
        line = quantity("Bond-line beads", "thickness", f"{key}·line", session.units, first)
    note = st.text_input("Maker's sheet, page", value=old.note if old else "", key=f"{key}·note")

    def build() -> Adhesive:
        ranges = {}
        for part, (low, high) in spans.items():
            if low is None or high is None:
                raise InputError(
                    "give all three time ranges; the same number twice where the label has one"
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


def _ask_span(
    key: str, part: str, words: str, scale: float, before: Span | None
) -> tuple[float | None, float | None]:
    """Ask for a range of the label and return it in minutes."""
    unit = "h" if scale == 60 else "min"
    found = []
    low, high = (before.low_min, before.high_min) if before else (None, None)
    ends = (("from", "low", low), ("to", "high", high))
    for column, (word, end, start) in zip(st.columns(2), ends, strict=True):
        with column:
            typed = st.number_input(
                f"{words}, {word} [{unit}]",
                value=start / scale if start is not None else None,
                key=f"{key}·{part}·{end}",
            )
        found.append(None if typed is None else typed * scale)
    return found[0], found[1]
