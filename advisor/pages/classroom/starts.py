"""Published starts: how thickness and surface move them; guess first, then reveal."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from advisor.language import msg, say
from advisor.learning.demonstration import thickness_curve
from advisor.pages.classroom.slopes import slopes
from advisor.pages.parts import charts
from advisor.pages.parts.entry import pick, quantity
from advisor.pages.session import Session
from advisor.teaching.words import BARE
from advisor.units import from_inner, label
from advisor.weld.published import UNCOATED, PublishedStart, Schedule, published_start
from advisor.weld.sheet import THICKEST_MM, THINNEST_MM, Sheet, Surface
from advisor.weld.size import minimum_size_mm
from advisor.weld.stack import Stack

_SURFACES = [
    Surface.GROUND_BARE,
    Surface.GALVANNEALED,
    Surface.ELECTRO_ZINC,
    Surface.HOT_DIP_ZINC,
]
_QUANTITIES = {
    "current": msg("Weld current"),
    "time": msg("Weld time"),
    "force": msg("Electrode force"),
}
#: The same in a sentence, or before a unit.
_WORDS = {
    "current": msg("weld current"),
    "time": msg("weld time"),
    "force": msg("electrode force"),
}
_FIELD = {"current": "current_kA", "time": "weld_ms", "force": "force_kN"}


def show(session: Session) -> None:
    """Draw the view."""
    st.subheader(say("Thickness moves the setting"))
    bare = _ask_columns(session)
    left, right = st.columns(2)
    with left:
        first = _pick("A", 0.8, Surface.GROUND_BARE, bare)
    with right:
        second = _pick("B", 1.6, Surface.GROUND_BARE, bare)
    guess_first = st.toggle(say("Guess first"), key="class·guess")
    revealed = not guess_first or _guessed(session, second)
    for column, (name, chosen) in zip(st.columns(2), (("A", first), ("B", second)), strict=True):
        with column:
            _numbers(session, name, chosen, revealed=revealed or name == "A")
    if not revealed:
        return
    _reading(first, second)
    quantity_name = st.segmented_control(
        say("Show"),
        list(_QUANTITIES),
        default="current",
        format_func=lambda name: say(_QUANTITIES[name]),
        key="class·show",
        required=True,
    )
    _chart(session, quantity_name or "current", bare, first, second)
    slopes()


def _ask_columns(session: Session) -> Schedule:
    """Ask for the columns for uncoated steel; they begin with those that the shop's rules name."""
    own = session.log.rules().bare_schedule
    words = say("Published starts for uncoated steel")
    chosen = pick(words, UNCOATED, f"class·columns·{own.value}", own)
    st.caption(
        say(
            "The shop's rules name: {source}. Lessons and Side by side take: {other}.",
            source=own.label,
            other=BARE.label,
        )
    )
    return chosen


_Pick = tuple[float, Surface, PublishedStart]


def _pick(name: str, thickness_mm: float, surface: Surface, bare: Schedule) -> _Pick:
    thickness = st.slider(
        say("Stack {name}: both sheets [mm]", name=name),
        THINNEST_MM,
        THICKEST_MM,
        thickness_mm,
        0.1,
        key=f"class·{name}·t",
    )
    words = say("Stack {name}: surface", name=name)
    chosen = pick(words, _SURFACES, f"class·{name}·s", surface)
    sheet = Sheet(thickness, upper=chosen, lower=chosen)
    return thickness, chosen, published_start(Stack((sheet, sheet)), bare)


def _guessed(session: Session, second: _Pick) -> bool:
    st.markdown(say("**Stack B: what would you set?** Write it down, then reveal."))
    guess = quantity(say("The class says: current"), "current", "class·answer", session.units)
    start = second[2]
    asked = f"{second[0]}·{second[1]}·{start.row.schedule.value}"
    revealed = st.toggle(say("Reveal"), key=f"class·reveal·{asked}")
    if revealed and guess is not None:
        words = _GUESSED[start.row.current_kA.holds(guess)]
        st.info(say(words, off=guess / start.current_kA - 1))
    return revealed


#: How a guess stands, by whether the band holds it.
_GUESSED = {
    True: msg("The guess is {off:+.0%} from the start and inside the published band."),
    False: msg("The guess is {off:+.0%} from the start and outside the published band."),
}


def _numbers(session: Session, name: str, pick: _Pick, *, revealed: bool) -> None:
    thickness, surface, start = pick
    units = session.units
    shown = session.thickness(thickness)
    head = say("Stack {name}", name=name)
    st.markdown(f"**{head}** · {shown} + {shown} · {surface.label}")
    minimum = minimum_size_mm(thickness)
    other = "" if units.unit("diameter") == "mm" else f" ({units.show('diameter', minimum)})"
    least = say(
        "Smallest good button 4√{thickness:g} = **{minimum:.2f} mm**",
        thickness=thickness,
        minimum=minimum,
    )
    st.markdown(f"{least}{other}")
    if not revealed:
        st.markdown(say("Current **?** · time **?** · force **?**"))
        return
    for words, field, value, band in (
        (_CURRENT, "current", start.current_kA, start.row.current_kA),
        (_TIME, "time", start.weld_ms, start.row.weld_ms),
        (_FORCE, "force", start.force_kN, start.row.force_kN),
    ):
        low, high = units.show(field, band.low), units.show(field, band.high)
        st.markdown(say(words, value=units.show(field, value), low=low, high=high))
    st.caption(start.basis)


_CURRENT = msg("Current **{value}** (band {low} to {high})")
_TIME = msg("Time **{value}** (band {low} to {high})")
_FORCE = msg("Force **{value}** (band {low} to {high})")


def _reading(first: _Pick, second: _Pick) -> None:
    a, b = first[2], second[2]
    size = (second[0] / first[0]) ** 0.5
    st.info(
        say(
            "From A to B: thickness × {thickness:.2f}, smallest button × {size:.2f} (its square "
            "root), current × {current:.2f}, time × {time:.2f}, force × {force:.2f}.",
            thickness=second[0] / first[0],
            size=size,
            current=b.current_kA / a.current_kA,
            time=b.weld_ms / a.weld_ms,
            force=b.force_kN / a.force_kN,
        )
    )


def _chart(session: Session, name: str, bare: Schedule, first: _Pick, second: _Pick) -> None:
    units, column = session.units, _FIELD[name]
    unit, thickness_unit = units.unit(name), units.unit("thickness")

    def frame(letter: str, picked: _Pick) -> pd.DataFrame:
        curve = thickness_curve(picked[1], bare)
        values = {
            part: [from_inner(name, v, unit) for v in curve[f"{column}_{part}"]]
            for part in ("low", "start", "high")
        }
        thickness = [from_inner("thickness", v, thickness_unit) for v in curve["thickness_mm"]]
        return pd.DataFrame(
            {"stack": f"{letter} {picked[1].label}", "thickness": thickness, **values}
        )

    both = {"A": first, "B": second}
    points = pd.DataFrame(
        {
            "stack": f"{letter} {picked[1].label}",
            "thickness": from_inner("thickness", picked[0], thickness_unit),
            "start": from_inner(name, getattr(picked[2], column), unit),
        }
        for letter, picked in both.items()
    )
    curves = pd.concat(frame(letter, picked) for letter, picked in both.items())
    title = f"{say(_WORDS[name])} [{label(unit)}]"
    st.altair_chart(
        charts.start_against_thickness(curves, points, thickness_unit, title),
        width="stretch",
        alt=say(
            "Published band and start of {quantity} against sheet thickness for both stacks",
            quantity=title,
        ),
    )
    st.caption(
        say(
            "Shade: published band. Line: the start between the bands, dashed for B. Marks: stacks "
            "A and B."
        )
    )
