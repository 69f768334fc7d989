"""The maps of the window, in the person's units, with the coupons on them and a key in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import pandas as pd
import streamlit as st

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.language import say
from advisor.learning.choice import WINDOW
from advisor.learning.suggestion import Suggestion
from advisor.pages.parts import charts
from advisor.pages.parts.advice import Advised
from advisor.pages.parts.cards import percent
from advisor.pages.parts.joint_choice import Target
from advisor.pages.parts.palette import TESTED, UNTESTED
from advisor.pages.session import Session
from advisor.units import Calibration, from_inner, label

#: Values a side: fine enough to see an edge, few enough to send.
_POINTS = 36
_OUTCOMES = {
    Outcome.PASS: charts.PASS,
    Outcome.FAIL: charts.FAIL,
    Outcome.OPEN: charts.OPEN,
}


@dataclass(frozen=True)
class Axis:
    """One quantity of a setting as this person reads it.

    Parameters
    ----------
    column : str
        Its name in a frame, with the unit inside.
    field : str
        Kind of quantity, a key of `units.FIELDS`.
    words : str
        What it is called.
    unit : str
        The person's unit.
    calibration : Calibration
        Of the machine.
    """

    column: str
    field: str
    words: str
    unit: str
    calibration: Calibration

    @property
    def title(self) -> str:
        """Name and unit."""
        return f"{self.words} [{label(self.unit)}]"

    def read(self, frame: pd.DataFrame) -> pd.Series[float]:
        """Return the column of a frame in the person's unit."""
        values = frame[self.column]
        read = {v: from_inner(self.field, v, self.unit, self.calibration) for v in values.unique()}
        return values.map(read).astype(float)


def axes(session: Session, calibration: Calibration) -> tuple[Axis, Axis, Axis]:
    """Return current, weld time and force as this person reads them on a machine."""

    def axis(column: str, field: str, words: str) -> Axis:
        return Axis(column, field, words, session.units.unit(field, calibration), calibration)

    return (
        axis("current_kA", "current", say("weld current")),
        axis("weld_ms", "time", say("weld time")),
        axis("force_kN", "force", say("electrode force")),
    )


def what_came_out(logged: LoggedCoupon) -> str:
    """Return the kind of mark a coupon gets on a chart."""
    if logged.coupon.expulsion:
        return charts.EXPULSION
    return _OUTCOMES[logged.verdict.outcome]


def window_words(session: Session, suggestion: Suggestion) -> str:
    """Say between which currents a sound weld is to be expected."""
    low, high = suggestion.window_low_kA, suggestion.window_high_kA
    if low is None or high is None:
        return say(
            "At no current that may be tried is the chance of a sound weld {chance} yet, at this "
            "time and force.",
            chance=percent(WINDOW),
        )
    first, last = (session.units.show("current", current) for current in (low, high))
    if first == last:
        return say(
            "The chance of a sound weld is {chance} or more at {current} alone, at this time and "
            "force.",
            chance=percent(WINDOW),
            current=first,
        )
    return say(
        "The chance of a sound weld is {chance} or more from {first} to {last}, at this time and "
        "force.",
        chance=percent(WINDOW),
        first=first,
        last=last,
    )


def show_windows(session: Session, target: Target, found: Advised) -> None:
    """Draw the chance of a sound weld over current and time, and over current and force."""
    current, weld_time, force = axes(session, session.calibration(target.machine.name))
    marks = _marks(found)
    st.html(_key() + marks_key(marks["what"]))
    _map(session, found, marks, (current, weld_time, force))
    _map(session, found, marks, (current, force, weld_time))
    st.caption(
        say(
            "Marks: coupons of this kind of stack, wherever they lie in the quantity that is held. "
            "Colour: such a coupon was welded near. Grey: none was, so the chance is only reckoned."
        )
    )


def _map(
    session: Session, found: Advised, marks: pd.DataFrame, shown: tuple[Axis, Axis, Axis]
) -> None:
    """Draw one map; of the axes, the third is held."""
    across, up, held = shown
    suggestion = found.advice.suggestion
    draw = found.advice.window_over_time if up.field == "time" else found.advice.window_over_force
    window = draw(_POINTS)
    cells = pd.DataFrame(
        {
            "x": across.read(window),
            "y": up.read(window),
            "chance": window["chance_sound"],
            "tested": window["tested"],
        }
    ).astype({"x": "float32", "y": "float32", "chance": "float32"})
    value = getattr(suggestion.setting, held.column)
    at = f"{held.words} {session.units.show(held.field, value, held.calibration)}"
    title = say("Chance of a sound weld over current and {quantity}", quantity=up.words)
    st.markdown(f"**{title}** ({at})")
    st.altair_chart(
        charts.chance_map(cells, _counted(marks, across, up), across.title, up.title),
        width="stretch",
        alt=say(
            "Map of the chance of a sound weld over current and {quantity}, at {held}. {window}",
            quantity=up.words,
            held=at,
            window=window_words(session, suggestion),
        ),
    )


def _marks(found: Advised) -> pd.DataFrame:
    """Return the coupons of this kind of stack and what is proposed, the last ones on top."""
    best, following = found.advice.suggestion.setting, found.advice.next_coupon
    made = [(logged.coupon.setting, what_came_out(logged)) for logged in found.advice.kin]
    if not best.same_as(following.setting):
        made.append((best, charts.LIKELIEST))
    made.append((following.setting, charts.PROVEN if following.stop else charts.NEXT))
    rows = [(s.current_kA, s.weld_ms, s.force_kN, what) for s, what in made]
    return pd.DataFrame(rows, columns=["current_kA", "weld_ms", "force_kN", "what"])


def _counted(marks: pd.DataFrame, across: Axis, up: Axis) -> pd.DataFrame:
    """Return one row a place and kind, with how many lie there."""
    found = marks.groupby([across.column, up.column, "what"], as_index=False).size()
    return pd.DataFrame(
        {
            "x": across.read(found),
            "y": up.read(found),
            "what": found["what"],
            "count": found["size"],
        }
    )


def marks_key(found: Iterable[str]) -> str:
    """Return the marks of a chart in words."""
    known = set(found)
    words = "".join(
        f'<span><b style="color:{mark.colour}">{mark.sign}</b> {say(what)}</span>'
        for what, mark in charts.MARKS.items()
        if what in known
    )
    return f'<div class="marks-key">{words}</div>'


def _key() -> str:
    ends = [f"{100 * level:.0f}" for level in charts.LEVELS]
    names = [f"{a}–{b}" for a, b in pairwise(["0", *ends, "100"])]
    chance, near, untested = say("chance [%]"), say("tested near"), say("not tested")
    rows = [
        f"<b>{chance}</b>",
        *(f"<span>{name}</span>" for name in names),
        f"<b>{near}</b>",
        *(f'<i style="background:{colour}"></i>' for colour in TESTED),
        f"<b>{untested}</b>",
        *(f'<i style="background:{colour}"></i>' for colour in UNTESTED),
    ]
    return f'<div class="key">{"".join(rows)}</div>'
