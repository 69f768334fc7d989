"""Entry of what a coupon showed after the test: two diameters and a failure type an interface."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from advisor.coupons.coupon import InterfaceResult
from advisor.errors import InputError
from advisor.pages.parts.entry import choice, quantity
from advisor.pages.parts.units_choice import UnitChoice
from advisor.weld.failure import FailureType
from advisor.weld.stack import Stack

Typed = tuple[float | None, float | None, FailureType | None]
FLAGS = {"expulsion": "Expulsion", "edge_weld": "Edge weld", "cracks": "Crack"}


def ask_results(
    units: UnitChoice,
    stack: Stack,
    key: str,
    start: Sequence[InterfaceResult] = (),
    of_what: str = "",
) -> list[Typed]:
    """Ask for each interface's diameters and failure; nothing is judged or refused yet."""
    found: list[Typed] = []
    many = len(stack.interfaces) > 1
    for n, interface in enumerate(stack.interfaces):
        before = start[n] if start else InterfaceResult()
        where = f" {n + 1}" if many else ""
        if many:
            upper = units.show("thickness", interface.upper_sheet.thickness_mm)
            lower = units.show("thickness", interface.lower_sheet.thickness_mm)
            st.markdown(f"**Button at interface {n + 1}**, {upper} on {lower}")
        name = f"{key}·result{n}"
        with st.container(key=f"row-{name}"):
            left, right = st.columns(2)
        with left:
            words = f"Smallest ⌀{where}{of_what}"
            small = quantity(words, "diameter", f"{name}·small", units, before.smallest_mm)
        with right:
            words = f"Largest ⌀{where}{of_what}"
            large = quantity(words, "diameter", f"{name}·large", units, before.largest_mm)
        failure = choice(
            f"How it failed{where}{of_what}", list(FailureType), f"{name}·failure", before.failure
        )
        found.append((small, large, failure))
    return found


def results_from(typed: Sequence[Typed], *, tested: bool = True) -> tuple[InterfaceResult, ...]:
    """Return what was typed as results.

    Raises
    ------
    InputError
        Nothing was said about an interface of a tested coupon, or what was said cannot be.
    """
    if tested and any(each == (None, None, None) for each in typed):
        raise InputError(
            "give the two diameters and how it failed; where nothing fused choose 'no fusion', and "
            "before the test tick 'not tested yet'"
        )
    return tuple(InterfaceResult(*each) for each in typed)


def ask_flags(key: str, start: dict[str, bool] | None = None) -> dict[str, bool]:
    """Ask what else was seen."""
    with st.container(horizontal=True, key=f"flags-{key}"):
        return {
            name: st.checkbox(words, bool(start and start[name]), key=f"{key}·{name}")
            for name, words in FLAGS.items()
        }
