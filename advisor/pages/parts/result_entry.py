"""Entry of what a coupon showed after the test: two diameters and a failure type an interface."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from advisor.coupons.coupon import InterfaceResult
from advisor.pages.parts.entry import choice, quantity
from advisor.pages.parts.units_choice import UnitChoice
from advisor.weld.failure import FailureType
from advisor.weld.stack import Stack

Typed = tuple[float | None, float | None, FailureType | None]
FLAGS = {"expulsion": "Expulsion", "edge_weld": "Edge weld", "cracks": "Crack"}


def ask_results(
    units: UnitChoice, stack: Stack, key: str, start: Sequence[InterfaceResult] = ()
) -> list[Typed]:
    """Ask for each interface's diameters and failure; nothing is judged or refused yet."""
    found: list[Typed] = []
    many = len(stack.interfaces) > 1
    for n, interface in enumerate(stack.interfaces):
        before = start[n] if start else InterfaceResult(failure=FailureType.BUTTON)
        if many:
            upper = units.show("thickness", interface.upper_sheet.thickness_mm)
            lower = units.show("thickness", interface.lower_sheet.thickness_mm)
            st.markdown(f"**Button at interface {n + 1}**, {upper} on {lower}")
        else:
            st.markdown("**Button**")
        name = f"{key}·result{n}"
        with st.container(key=f"row-{name}"):
            left, right = st.columns(2)
        with left:
            small = quantity("Smallest ⌀", "diameter", f"{name}·small", units, before.smallest_mm)
        with right:
            large = quantity("Largest ⌀", "diameter", f"{name}·large", units, before.largest_mm)
        failure = choice("How it failed", list(FailureType), f"{name}·failure", before.failure)
        found.append((small, large, failure))
    return found


def ask_flags(key: str, start: dict[str, bool] | None = None) -> dict[str, bool]:
    """Ask what else was seen."""
    flags = {}
    for column, (name, words) in zip(st.columns(len(FLAGS)), FLAGS.items(), strict=True):
        with column:
            flags[name] = st.checkbox(words, bool(start and start[name]), key=f"{key}·{name}")
    return flags
