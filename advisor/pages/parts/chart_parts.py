"""What the charts of the review share: dark axes, marks of one shape, words, level lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import BAD, GROUND, INK, SOFT

#: Height of a plot. [px]
PLOT_PX = 300
TICKS = 5
SHARE = alt.Scale(domain=[0, 1], nice=False)
LOOSE = alt.Scale(zero=False, padding=12)
DASHED = [6, 4]


def axis(**more: Any) -> alt.Axis:
    """Return an axis that is dark enough to read."""
    return alt.Axis(labelColor=INK, titleColor=INK, labelFontSize=12, titleFontSize=12, **more)


def drawn(layers: Sequence[alt.Chart | Chart], key: Sequence[str], height: int) -> Chart:
    """Return layers as one chart with its key in words above it."""
    look: dict[str, Any] = {"fontSize": 12, "fontWeight": "normal", "color": SOFT}
    title = alt.TitleParams(list(key), anchor="start", offset=8, **look)
    # The height is that of the plot alone: on a phone the words above it would take half of it.
    autosize = alt.AutoSizeParams(type="fit-x", contains="padding")
    return alt.layer(*layers).properties(height=height, title=title, autosize=autosize)


def mark(
    base: alt.Chart, shape: str, color: str, filled: bool, size: float, **more: Any
) -> alt.Chart:
    """Return points of one shape; a hollow one hides what is behind it."""
    look: dict[str, Any] = {"shape": shape, "color": color, "size": size, "opacity": 1}
    hollow: dict[str, Any] = {} if filled else {"fill": GROUND, "strokeWidth": 1.5}
    chart: alt.Chart = base.mark_point(filled=filled, **look, **hollow, **more)
    return chart


def text(frame: pd.DataFrame, column: str, **look: Any) -> alt.Chart:
    """Return the words of a column as text."""
    marks: dict[str, Any] = {
        "color": INK,
        "fontSize": 12,
        "align": "left",
        "baseline": "middle",
    } | look
    chart: alt.Chart = alt.Chart(frame).mark_text(**marks).encode(alt.Text(f"{column}:N"))
    return chart


def haloed(frame: pd.DataFrame, column: str, **look: Any) -> list[alt.Chart]:
    """Return words that can be read where a line runs behind them."""
    behind = {"stroke": GROUND, "strokeWidth": 4}
    return [text(frame, column, **look, **behind), text(frame, column, **look)]


def tips(*columns: tuple[str, str]) -> list[alt.Tooltip]:
    """Return tooltips of columns with their titles; figures with three digits."""
    figures = {"value", "adjusted", "ewma", "range"}
    return [
        alt.Tooltip(f"{name}:Q", title=title, format=".3~f")
        if name in figures
        else alt.Tooltip(f"{name}:N", title=title)
        for name, title in columns
    ]


def level(value: float, words: str, **look: Any) -> list[alt.Chart]:
    """Return a level line with its words above its left end."""
    frame = pd.DataFrame({"level": [value], "words": [words]})
    marks: dict[str, Any] = {"color": BAD, "strokeDash": DASHED, "strokeWidth": 1.5} | look
    rule = alt.Chart(frame).mark_rule(**marks).encode(alt.Y("level:Q"))
    labels = haloed(frame, "words", baseline="bottom", dx=4, dy=-3, color=marks["color"])
    return [rule, *(_at_left(each) for each in labels)] if words else [rule]


def _at_left(label: alt.Chart) -> alt.Chart:
    chart: alt.Chart = label.encode(alt.Y("level:Q"), x=alt.value(0))
    return chart
