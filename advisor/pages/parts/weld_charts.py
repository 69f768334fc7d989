"""Charts of calculated welds. The frames come in the person's units; nothing is worked out here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from advisor.language import say
from advisor.pages.parts.chart_parts import DASHED, LOOSE, PLOT_PX, axis, drawn, haloed
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import ACCENT, BAD, GOOD, INK, LINE

_INKS = (INK, ACCENT, BAD)
_DASHES = ([1, 0], DASHED, [2, 3])
_SMALL = 220


def growth_chart(
    rows: pd.DataFrame, minima: pd.DataFrame, size_unit: str, names: Sequence[str]
) -> Chart:
    """Return size against time, with the minimum of each weld.

    Parameters
    ----------
    rows : DataFrame
        Columns ``weld`` (a name), ``time`` in ms, ``size``.
    minima : DataFrame
        Columns ``weld``, ``size``.
    size_unit : str
        Unit of the sizes.
    names : sequence of str
        Of the welds, in order: each has a dash of its own besides its colour.
    """
    title = say("size of the melt [{unit}]", unit=size_unit)
    size = alt.Y("size:Q", title=title, axis=axis())
    lines = (
        alt.Chart(rows)
        .mark_line(strokeWidth=3)
        .encode(_time("time"), size, *_by_weld(names), detail="weld:N")
    )
    least = (
        alt.Chart(minima)
        .mark_rule(strokeWidth=1.5)
        .encode(alt.Y("size:Q"), *_by_weld(names), opacity=alt.value(0.7))
    )
    return drawn([lines, least], _key(names, say("level lines: the minimum")), PLOT_PX)


def resistance_chart(rows: pd.DataFrame, names: Sequence[str]) -> Chart:
    """Return resistance against time; columns ``weld``, ``time``, ``resistance``."""
    title = say("resistance [{unit}]", unit="µΩ")
    resistance = alt.Y("resistance:Q", title=title, scale=LOOSE, axis=axis())
    lines = (
        alt.Chart(rows)
        .mark_line(strokeWidth=3)
        .encode(_time("time"), resistance, *_by_weld(names), detail="weld:N")
    )
    return drawn([lines], _key(names), _SMALL)


def window_chart(rooms: pd.DataFrame, ends: Sequence[float], unit: str) -> Chart:
    """Return the currents that each weld time leaves, a bar a time.

    Parameters
    ----------
    rooms : DataFrame
        Columns ``time`` (words, shortest first), ``lowest``, ``highest`` and ``out``: currents, or
        nothing.
    ends : sequence of float
        Least and largest current that was tried.
    unit : str
        Unit of the currents.
    """
    low, high = ends
    beside = (high - low) / 20
    scale = alt.Scale(domain=[low - beside, high + beside], nice=False)
    title = say("weld current [{unit}]", unit=unit)
    x = alt.X("lowest:Q", title=title, scale=scale, axis=axis())
    y = alt.Y("time:N", title=say("weld time"), sort=None, axis=axis(labelFlush=False))
    base = alt.Chart(rooms.dropna(subset="lowest"))
    end: dict[str, Any] = {"color": GOOD, "thickness": 4, "height": 26, "opacity": 1}
    nothing = _without_window(rooms, low, high)
    layers = [
        alt.Chart(rooms).mark_rule(color=LINE).encode(x=alt.value(0), x2=alt.value("width"), y=y),
        base.mark_rule(color=GOOD, strokeWidth=10).encode(x, alt.X2("highest:Q"), y),
        base.mark_tick(**end).encode(x, y),
        base.mark_tick(**end).encode(alt.X("highest:Q"), y),
        *(each.encode(alt.X("at:Q"), y) for each in haloed(nothing, "words", align="center")),
        alt.Chart(rooms.dropna(subset="out"))
        .mark_point(shape="cross", color=BAD, size=170, filled=True, opacity=1)
        .encode(alt.X("out:Q"), y),
    ]
    # A line each: side by side they would be cut off on a phone.
    words = [say("▐━▌ large enough, no expulsion"), say("✚ expulsion from here on")]
    return drawn(layers, words, PLOT_PX)


def _without_window(rooms: pd.DataFrame, low: float, high: float) -> pd.DataFrame:
    """Return the times that leave nothing, with words for it and where they hide no mark."""
    found = rooms[rooms["lowest"].isna()]
    out = found["out"].fillna(high)
    middles = ((low + out) / 2).where(out - low >= high - out, (out + high) / 2)
    return found.assign(words=say("no window"), at=middles)


def _time(field: str) -> alt.X:
    return alt.X(f"{field}:Q", title=say("time from the start of the current [ms]"), axis=axis())


def _by_weld(names: Sequence[str]) -> tuple[alt.Color, alt.StrokeDash]:
    found = list(names)
    return (
        alt.Color("weld:N", scale=alt.Scale(domain=found, range=list(_INKS)), legend=None),
        alt.StrokeDash("weld:N", scale=alt.Scale(domain=found, range=list(_DASHES)), legend=None),
    )


def _key(names: Sequence[str], more: str = "") -> list[str]:
    signs = ("━━", "╍╍", "┈┈")
    each = "   ".join(f"{sign} {name}" for sign, name in zip(signs, names, strict=False))
    return [each, more] if more else [each]
