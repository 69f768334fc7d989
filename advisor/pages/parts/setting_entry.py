"""Entry of what was dialled in."""

from __future__ import annotations

import streamlit as st

from advisor.errors import InputError
from advisor.pages.parts.entry import quantity
from advisor.pages.parts.units_choice import UnitChoice
from advisor.units import Calibration
from advisor.weld.setting import Setting

_MAIN = {
    "current_kA": ("Current", "current"),
    "weld_ms": ("Weld time", "time"),
    "force_kN": ("Force", "force"),
}
_MORE = {
    "squeeze_ms": ("Squeeze", "time"),
    "hold_ms": ("Hold", "time"),
    "pause_ms": ("Pause between pulses", "time"),
    "pre_current_kA": ("Pre-pulse current", "current"),
    "pre_ms": ("Pre-pulse time", "time"),
}
TypedSetting = dict[str, float | None]


def ask_setting(
    units: UnitChoice, calibration: Calibration, key: str, start: Setting | None
) -> TypedSetting:
    """Ask for a setting; nothing is refused yet."""
    typed: TypedSetting = {}
    with st.container(key=f"row-setting-{key}"):
        main = st.columns(len(_MAIN))
    for column, (name, (words, field)) in zip(main, _MAIN.items(), strict=True):
        with column:
            first = getattr(start, name) if start else None
            typed[name] = quantity(words, field, f"{key}·{name}", units, first, calibration)
    with st.expander("Squeeze, hold, pulses, pre-pulse"):
        more = st.columns(2)
        for place, (name, (words, field)) in enumerate(_MORE.items()):
            with more[place % 2]:
                first = getattr(start, name) if start else 0.0
                typed[name] = quantity(words, field, f"{key}·{name}", units, first, calibration)
        with more[1]:
            first_pulses = start.pulses if start else 1
            typed["pulses"] = st.number_input("Pulses", value=first_pulses, step=1, key=f"{key}·n")
    return typed


def setting_from(typed: TypedSetting) -> Setting:
    """Return the setting that was typed.

    Raises
    ------
    InputError
        A number is missing, or cannot be.
    """
    missing = [words.lower() for name, (words, _) in _MAIN.items() if typed[name] is None]
    if missing:
        raise InputError(f"give the {' and the '.join(missing)} that was dialled in")
    given = {name: value for name, value in typed.items() if value is not None}
    pulses = int(given.pop("pulses", 1))
    return Setting(pulses=pulses, **given)
