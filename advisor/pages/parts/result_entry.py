"""Entry of what a coupon showed after the test: two diameters and a failure type an interface."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from advisor.coupons.coupon import InterfaceResult
from advisor.errors import InputError
from advisor.language import msg, say
from advisor.pages.parts.entry import choice, quantity
from advisor.pages.parts.units_choice import UnitChoice
from advisor.weld.failure import FailureType
from advisor.weld.stack import Interface, Stack

Typed = tuple[float | None, float | None, FailureType | None]
#: What else may be seen, as messages for `say`.
FLAGS = {
    "expulsion": msg("Expulsion"),
    "edge_weld": msg("Edge weld"),
    "cracks": msg("Crack"),
}


def ask_results(
    units: UnitChoice,
    stack: Stack,
    key: str,
    start: Sequence[InterfaceResult] = (),
    coupon: int | None = None,
) -> list[Typed]:
    """Ask for each interface's diameters and failure; nothing is judged or refused yet.

    Parameters
    ----------
    units : UnitChoice
        The person's units.
    stack : Stack
        What was welded.
    key : str
        Prefix of the widget keys.
    start : sequence of InterfaceResult
        Results to begin with.
    coupon : int, optional
        Number of the coupon, said where it is not plain which one is meant.

    Returns
    -------
    list of (float or None, float or None, FailureType or None)
        Smallest and largest diameter [mm] and how it failed, for each interface.
    """
    found: list[Typed] = []
    many = len(stack.interfaces) > 1
    for n, interface in enumerate(stack.interfaces):
        before = start[n] if start else InterfaceResult()
        of = (n + 1 if many else None, coupon)
        if many:
            _interface_heading(units, n, interface)
        name = f"{key}·result{n}"
        with st.container(key=f"row-{name}"):
            left, right = st.columns(2)
        with left:
            words = _of(say("Smallest ⌀"), *of)
            small = quantity(words, "diameter", f"{name}·small", units, before.smallest_mm)
        with right:
            words = _of(say("Largest ⌀"), *of)
            large = quantity(words, "diameter", f"{name}·large", units, before.largest_mm)
        failure = choice(
            _of(say("How it failed"), *of), list(FailureType), f"{name}·failure", before.failure
        )
        found.append((small, large, failure))
    return found


def _interface_heading(units: UnitChoice, n: int, interface: Interface) -> None:
    st.markdown(
        say(
            "**Button at interface {interface}**, {upper} on {lower}",
            interface=n + 1,
            upper=units.show("thickness", interface.upper_sheet.thickness_mm),
            lower=units.show("thickness", interface.lower_sheet.thickness_mm),
        )
    )


def _of(words: str, interface: int | None, coupon: int | None) -> str:
    """Say of which interface and of which coupon something is asked, where that is not plain."""
    if interface is not None:
        words = f"{words} {interface}"
    return words if coupon is None else say("{asked} of #{coupon}", asked=words, coupon=coupon)


def results_from(typed: Sequence[Typed], *, tested: bool = True) -> tuple[InterfaceResult, ...]:
    """Return what was typed as results.

    Raises
    ------
    InputError
        Nothing was said about an interface of a tested coupon, or what was said cannot be.
    """
    if tested and any(each == (None, None, None) for each in typed):
        raise InputError(
            say(
                "give the two diameters and how it failed; where nothing fused choose 'no fusion', "
                "and before the test tick 'not tested yet'"
            )
        )
    return tuple(InterfaceResult(*each) for each in typed)


def ask_flags(key: str, start: dict[str, bool] | None = None) -> dict[str, bool]:
    """Ask what else was seen."""
    with st.container(horizontal=True, key=f"flags-{key}"):
        return {
            name: st.checkbox(say(words), bool(start and start[name]), key=f"{key}·{name}")
            for name, words in FLAGS.items()
        }
