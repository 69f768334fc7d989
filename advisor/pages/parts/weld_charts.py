"""Charts of calculated welds. The frames come in the person's units; nothing is worked out here."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt
import pandas as pd

from advisor.language import msg, say
from advisor.pages.parts.chart_parts import DASHED, LOOSE, PLOT_PX, axis, drawn
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import ACCENT, BAD, GOOD, INK

_INKS = (INK, ACCENT, BAD)
_DASHES = ([1, 0], DASHED, [2, 3])
_SMALL = 220
#: What becomes of a weld of the window: sign and colour, told by shape first.
GOOD_WELD, TOO_SMALL, THROWN = (
    msg("large enough"),
    msg("smaller than the minimum"),
    msg("metal out"),
)
SIGNS = {GOOD_WELD: ("circle", GOOD, "●"), TOO_SMALL: ("stroke", INK, "▬")}
SIGNS[THROWN] = ("cross", BAD, "✚")


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


def window_chart(cells: pd.DataFrame, current_unit: str, time_unit: str) -> Chart:
    """Return what becomes of welds over current and time.

    Parameters
    ----------
    cells : DataFrame
        Columns ``current``, ``time``, ``size`` (words) and ``what``, a key of `SIGNS`.
    current_unit, time_unit : str
        Units of both.
    """
    across = say("weld current [{unit}]", unit=current_unit)
    up = say("weld time [{unit}]", unit=time_unit)
    x = alt.X("current:Q", title=across, scale=LOOSE, axis=axis())
    y = alt.Y("time:Q", title=up, scale=LOOSE, axis=axis())
    layers = [
        alt.Chart(cells[cells["what"] == what])
        .mark_point(shape=shape, color=colour, size=190, filled=shape != "stroke", opacity=1)
        .encode(x, y)
        for what, (shape, colour, _) in SIGNS.items()
    ]
    words = [f"{sign} {say(what)}" for what, (_, _, sign) in SIGNS.items()]
    # A line each: side by side they would be cut off on a phone.
    return drawn(layers, words, PLOT_PX)


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
