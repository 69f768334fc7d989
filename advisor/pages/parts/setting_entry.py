"""Entry of what was dialled in."""

from __future__ import annotations

from functools import reduce

import streamlit as st

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.pages.parts.entry import quantity
from advisor.pages.parts.units_choice import UnitChoice
from advisor.units import Calibration
from advisor.weld.setting import Setting

#: By name: what is asked for, a message for `say`, and its kind of quantity.
_MAIN = {
    "current_kA": (msg("Current"), "current"),
    "weld_ms": (msg("Weld time"), "time"),
    "force_kN": (msg("Force"), "force"),
}
_MISSING = {
    "current_kA": msg("the current"),
    "weld_ms": msg("the weld time"),
    "force_kN": msg("the force"),
}
_MORE = {
    "squeeze_ms": (msg("Squeeze"), "time"),
    "hold_ms": (msg("Hold"), "time"),
    "pause_ms": (msg("Pause between pulses"), "time"),
    "pre_current_kA": (msg("Pre-pulse current"), "current"),
    "pre_ms": (msg("Pre-pulse time"), "time"),
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
            typed[name] = quantity(say(words), field, f"{key}·{name}", units, first, calibration)
    with st.expander(say("Squeeze, hold, pulses, pre-pulse")):
        more = st.columns(2)
        for place, (name, (words, field)) in enumerate(_MORE.items()):
            with more[place % 2]:
                first = getattr(start, name) if start else 0.0
                typed[name] = quantity(
                    say(words), field, f"{key}·{name}", units, first, calibration
                )
        with more[1]:
            first_pulses = start.pulses if start else 1
            typed["pulses"] = st.number_input(
                say("Pulses"), value=first_pulses, step=1, key=f"{key}·n"
            )
    return typed


def setting_from(typed: TypedSetting) -> Setting:
    """Return the setting that was typed.

    Raises
    ------
    InputError
        A number is missing, or cannot be.
    """
    missing = [say(words) for name, words in _MISSING.items() if typed[name] is None]
    if missing:
        both = reduce(lambda one, other: say("{one} and {other}", one=one, other=other), missing)
        raise InputError(say("give {missing} that was dialled in", missing=both))
    given = {name: value for name, value in typed.items() if value is not None}
    pulses = int(given.pop("pulses", 1))
    return Setting(pulses=pulses, **given)
