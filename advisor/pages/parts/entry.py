"""Number entry with the unit beside the number. What was typed is never changed or thrown away."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

import streamlit as st

from advisor.errors import AdvisorError
from advisor.pages.parts.plain import plain
from advisor.pages.parts.units_choice import UnitChoice
from advisor.units import NO_CALIBRATION, Calibration, digits, from_inner, label, to_inner
from advisor.weld.words import TradeWord

W = TypeVar("W", bound=TradeWord)
_STEPS = {"current": 0.1, "thickness": 0.1, "diameter": 0.1, "force": 0.1, "time": 10.0}


def quantity(
    words: str,
    field: str,
    key: str,
    units: UnitChoice,
    start: float | None = None,
    calibration: Calibration = NO_CALIBRATION,
    tip: str | None = None,
) -> float | None:
    """Ask for a quantity in the person's unit.

    Parameters
    ----------
    words : str
        What is asked for.
    field : str
        Kind of quantity, a key of `units.FIELDS`.
    key : str
        Widget key; the unit becomes part of it, so that a number is never read in another unit.
    units : UnitChoice
        The person's units.
    start : float or None
        Value to begin with. [inner unit]
    calibration : Calibration
        Of the machine, for cycles and air pressures.
    tip : str or None
        Help text.

    Returns
    -------
    float or None
        The value in the field's inner unit; exactly `start` as long as nobody touches it.
    """
    unit = units.unit(field, calibration)
    places = digits(field, unit)
    shown = None
    if start is not None:
        shown = round(from_inner(field, start, unit, calibration), places)
    typed = st.number_input(
        f"{words} [{label(unit)}]",
        value=shown,
        step=_step(field, unit, places),
        format=f"%.{places}f",
        key=f"{key}·{unit}",
        help=tip,
    )
    if typed is None or typed == shown:
        return start if typed is not None else None
    return to_inner(field, float(typed), unit, calibration)


def _step(field: str, unit: str, places: int) -> float:
    step = _STEPS.get(field, 1.0)
    if unit in ("mm", "kA", "kN", "ms"):
        return step
    return 1.0 if places == 0 else max(10.0**-places, 10.0 ** (1 - places))


def choice(words: str, options: Sequence[W], key: str, start: W | None = None) -> W | None:
    """Ask for one trade word by big buttons."""
    return st.segmented_control(
        words, options, default=start, format_func=lambda word: word.label, key=key, wrap=True
    )


def pick(words: str, options: Sequence[W], key: str, start: W | None = None) -> W:
    """Ask for one trade word from a list."""
    first = options.index(start) if start in options else 0
    return st.selectbox(
        words, list(options), index=first, format_func=lambda word: word.label, key=key
    )


def attempt(action: Callable[[], object], done: str) -> bool:
    """Carry out an action; show what is wrong, or say that it is done on the next run."""
    try:
        action()
    except AdvisorError as error:
        st.error(plain(error))
        return False
    st.session_state["said"] = done
    return True
