"""Entry of a stack: sheets, their faces as welded, and the adhesive between them."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from advisor.errors import AdvisorError, InputError
from advisor.language import msg, say
from advisor.pages.parts.entry import choice, pick, quantity
from advisor.pages.parts.plain import plain
from advisor.pages.parts.units_choice import UnitChoice
from advisor.pages.parts.ways import go_button
from advisor.pages.session import Session
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

#: A choice, and a message for `say`.
OTHER_METAL = msg("aluminium or other metal")


def ask_stack(
    session: Session, key: str, adhesives: Sequence[str], start: Stack | None = None
) -> Stack | None:
    """Ask for a stack; say what is wrong with it, and keep what was typed.

    Parameters
    ----------
    session : Session
        Who enters it, and in which units.
    key : str
        Prefix of the widget keys.
    adhesives : sequence of str
        The shop's adhesives.
    start : Stack or None
        Stack to begin with.

    Returns
    -------
    Stack or None
        The stack, or None while it is not complete or not possible.
    """
    count = st.segmented_control(
        say("Sheets"),
        [2, 3, 4],
        default=len(start.sheets) if start else 2,
        key=f"{key}·count",
        required=True,
    )
    if count is None:
        return None
    parts: list[_Part | None] = []
    bonds: list[tuple[str, AdhesiveState]] = []
    for n in range(count):  # from the top down, as they lie
        sheet = _nth_sheet(start, n)
        parts.append(_ask_sheet(f"{key}·sheet{n}", n, session.units, sheet))
        if n + 1 < count:
            bonds.append(_ask_bond(session, f"{key}·bond{n}", n, count, adhesives, start))
    if any(part is None for part in parts):
        st.caption(say("Measure every sheet and give its thickness."))
        return None
    try:
        sheets = tuple(_sheet(*part) for part in parts if part is not None)
        return Stack(sheets, tuple(Bond(name, state) for name, state in bonds))
    except AdvisorError as error:
        st.error(plain(error))
        return None


_Part = tuple[float, SteelFamily | str, Surface, Surface]


def _nth_sheet(stack: Stack | None, n: int) -> Sheet | None:
    return stack.sheets[n] if stack and n < len(stack.sheets) else None


def _ask_sheet(key: str, n: int, units: UnitChoice, start: Sheet | None) -> _Part | None:
    families: list[SteelFamily | str] = [*SteelFamily, OTHER_METAL]
    left, middle, right = st.columns([3, 4, 4])
    with left:
        thickness = quantity(
            say("Sheet {number}", number=n + 1),
            "thickness",
            key,
            units,
            start.thickness_mm if start else None,
        )
    with middle:
        family = st.selectbox(
            say("Metal"),
            families,
            index=families.index(start.family) if start else 0,
            format_func=lambda f: f.label if isinstance(f, SteelFamily) else say(f),
            key=f"{key}·family",
        )
    with right:
        upper, lower = _ask_faces(key, start)
    return None if thickness is None else (thickness, family, upper, lower)


def _ask_faces(key: str, start: Sheet | None) -> tuple[Surface, Surface]:
    first = start.upper if start else Surface.GROUND_BARE
    upper = pick(say("Surface as welded"), list(Surface), f"{key}·upper", first)
    differs = st.checkbox(
        say("lower face differs"),
        value=bool(start and start.lower is not start.upper),
        key=f"{key}·differs",
    )
    if not differs:
        return upper, upper
    first = start.lower if start else upper
    return upper, pick(say("Lower face"), list(Surface), f"{key}·lower", first)


def _ask_bond(
    session: Session, key: str, n: int, count: int, adhesives: Sequence[str], start: Stack | None
) -> tuple[str, AdhesiveState]:
    first = start.bonds[n] if start and n < len(start.bonds) else Bond()
    between = say("Between the sheets")
    if count > 2:
        between = say("Between sheets {upper} and {lower}", upper=n + 1, lower=n + 2)
    state = choice(between, list(AdhesiveState), f"{key}·state", first.state)
    if state is None or state is AdhesiveState.NONE:
        return "", AdhesiveState.NONE
    if not adhesives:
        st.warning(
            say("No adhesive is entered yet: add it under Shop set-up, then choose it here.")
        )
        go_button(session, say("Enter the adhesive"), "shop", "adhesives", where=key)
        return "", state
    name = st.selectbox(
        say("Adhesive"),
        adhesives,
        index=adhesives.index(first.adhesive) if first.adhesive in adhesives else 0,
        key=f"{key}·adhesive",
    )
    return name, state


def _sheet(thickness_mm: float, family: SteelFamily | str, upper: Surface, lower: Surface) -> Sheet:
    if not isinstance(family, SteelFamily):
        raise InputError(
            say(
                "{metal} is not steel; this tool covers steel sheet only: follow the vehicle "
                "maker's procedure for joining it (often rivets and adhesive)",
                metal=say(family),
            )
        )
    return Sheet(thickness_mm, family, upper, lower)
