"""A weld layout as a drawing to scale, in strips that fit a phone, and as a table."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import Any

import altair as alt
import numpy as np
import pandas as pd
import streamlit as st

from advisor.language import figure, say
from advisor.pages.parts import charts
from advisor.pages.parts.chart_files import table_html
from advisor.pages.parts.palette import ACCENT, FIELD, INK
from advisor.units import digits, from_inner, label
from advisor.weld.layout import Layout
from advisor.weld.layout_flange import Flange
from advisor.weld.layout_words import in_words

#: Place along and across the flange, and diameter. [mm]
_Mark = tuple[float, float, float]
#: Flange shown in one strip: a weld of 6 mm is still 10 pixels wide on a phone. [mm]
_STRIP_MM, _SHORTEST_MM = 160.0, 80.0
#: How far a strip may be longer or shorter so that its end cuts no weld. [mm]
_ASIDE_MM = 20.0
#: Widest drawing, and what axis and numbers take of its height. [px]
DRAWING_PX, _BESIDE_PX, _ABOVE_PX = 760, 40, 92
_CORNERS = 40
#: Of an old site's edge: it is there, but not to be welded. [px]
_OLD_DASH = [3, 2]
#: Room under the flange for the numbers of the old sites. [px]
_BELOW_PX = 24
#: A tick on the axis every so many of the unit.
_TICKS = {"mm": 10.0, "in": 0.5}


def strips_mm(layout: Layout) -> list[tuple[float, float]]:
    """Return the strips that a flange is shown in, from and to; no weld is cut if it can be. [mm].

    Parameters
    ----------
    layout : Layout
        The proposal.
    """
    length = layout.flange.length_mm
    number = math.ceil(length / _STRIP_MM)
    marks = np.array([place for weld in layout.welds for place in (weld.old_mm, weld.new_mm)])
    aside = np.linspace(-_ASIDE_MM, _ASIDE_MM, 41)

    def cut(at: float) -> float:
        clear = np.abs(at + aside[:, None] - marks).min(axis=1)
        return float(at + aside[clear.argmax()])

    inner = [cut(length * n / number) for n in range(1, number)]
    return list(pairwise([0.0, *inner, length]))


def show_layout(layout: Layout, unit: str, show: Callable[[float], str]) -> None:
    """Draw a layout and list its places.

    Parameters
    ----------
    layout : Layout
        The proposal.
    unit : str
        The person's unit of length.
    show : callable
        Writes a length given in mm in that unit.
    """
    st.markdown(
        say(
            "**●** new weld, as wide as the electrode face (number above) · **⊘** old site, not to "
            "be welded (number below) · dashed: the old row · {unit} along the flange and across",
            unit=label(unit),
        )
    )
    strips = strips_mm(layout)
    longest = max(last - first for first, last in strips)
    for number, strip in enumerate(strips, 1):
        words = in_words(layout, show)
        if len(strips) > 1:
            words += " " + say("Part {number} of {parts}.", number=number, parts=len(strips))
        with st.container(width=DRAWING_PX):
            st.altair_chart(
                drawing(layout, strip, longest, unit),
                width="stretch",
                alt=words,
            )
    st.html(table_html(places(layout, unit), say("Old and new place of each weld")))


def places(layout: Layout, unit: str) -> pd.DataFrame:
    """Return old place, new place and shift of each weld as texts in the person's unit."""

    def text(value_mm: float, sign: str = "") -> str:
        value = from_inner("length", value_mm, unit)
        return figure(value, f"{sign}.{digits('length', unit)}f")

    measured = (say("old place"), say("new place"), say("shift"))
    names = [say("weld"), *(f"{what} [{label(unit)}]" for what in measured)]
    rows = [
        (str(weld.number), text(weld.old_mm), text(weld.new_mm), text(weld.shift_mm, "+"))
        for weld in layout.welds
    ]
    return pd.DataFrame(rows, columns=names)


def drawing(
    layout: Layout, strip_mm: tuple[float, float], longest_mm: float, unit: str
) -> charts.Chart:
    """Return one strip of the flange, to one scale both ways, in the person's unit.

    Parameters
    ----------
    layout : Layout
        The proposal.
    strip_mm : (float, float)
        Part of the flange that is shown. [mm]
    longest_mm : float
        Length of the longest strip, so that all have one scale. [mm]
    unit : str
        The person's unit of length.
    """
    flange, factor = layout.flange, from_inner("length", 1.0, unit)
    shown_mm = max(longest_mm, _SHORTEST_MM)
    old = [(site.place_mm, flange.row_mm, site.size_mm) for site in flange.sites]
    new = [(weld.new_mm, layout.row_mm, layout.needs.weld_mm) for weld in layout.welds]
    x, y = _axes(layout, strip_mm, shown_mm, unit)
    layers = [
        *_metal(flange, strip_mm, factor),
        _chart(_discs(new, strip_mm), factor).mark_line(
            filled=True, fill=ACCENT, strokeWidth=0, clip=True
        ),
        _chart(_discs(old, strip_mm), factor).mark_line(
            color=INK, strokeWidth=1.5, strokeDash=_OLD_DASH, clip=True
        ),
        _chart(_strokes(old, strip_mm), factor).mark_rule(color=INK, strokeWidth=1.5, clip=True),
        _numbers(new, flange.width_mm, strip_mm, factor).mark_text(
            dy=-10, fontSize=13, fontWeight="bold", color=ACCENT
        ),
        _numbers(old, 0.0, strip_mm, factor).mark_text(dy=11, fontSize=13, color=INK),
    ]
    height = round((DRAWING_PX - _BESIDE_PX) * flange.width_mm / shown_mm) + _ABOVE_PX
    return alt.layer(*(_placed(layer, x, y) for layer in layers)).properties(
        width="container", height=height
    )


def _axes(
    layout: Layout, strip_mm: tuple[float, float], shown_mm: float, unit: str
) -> tuple[alt.X, alt.Y]:
    """Return both axes; the upright one follows the width of the screen, so that mm stay mm."""
    (first, last), factor, step = strip_mm, from_inner("length", 1.0, unit), _TICKS[unit]
    ticks = np.arange(math.ceil(factor * first / step), factor * last / step + 1e-6)
    a_pixel = f"{factor * shown_mm:.6f} / width"
    across = sorted({0.0, layout.flange.row_mm, layout.row_mm, layout.flange.width_mm})
    x = alt.X(
        "x:Q",
        title=None,
        scale=alt.Scale(
            domain=[factor * first, factor * (first + shown_mm)], nice=False, zero=False
        ),
        axis=alt.Axis(
            grid=False,
            values=(ticks * step).tolist(),
            labelColor=INK,
            labelOverlap=True,
        ),
    )
    y = alt.Y(
        "y:Q",
        title=None,
        scale=alt.Scale(
            domainMin=alt.ExprRef(f"-{_BELOW_PX} * {a_pixel}"),
            domainMax=alt.ExprRef(f"(height - {_BELOW_PX}) * {a_pixel}"),
            nice=False,
            zero=False,
        ),
        axis=alt.Axis(
            grid=False,
            values=[round(factor * each, 3) for each in across],
            labelColor=INK,
            labelOverlap=True,
        ),
    )
    return x, y


def _placed(layer: alt.Chart, x: alt.X, y: alt.Y) -> alt.Chart:
    """Encode what the layer's frame holds."""
    ways: list[Any] = [x, y]
    if "x2" in layer.data:
        ways += [alt.X2("x2"), alt.Y2("y2")]
    if "corner" in layer.data:
        ways += [alt.Detail("weld:N"), alt.Order("corner:Q")]
    if "number" in layer.data:
        ways.append(alt.Text("number:N"))
    return layer.encode(*ways)


def _chart(frame: pd.DataFrame, factor: float) -> alt.Chart:
    """Return a chart of a frame given in mm, in the person's unit."""
    places = [name for name in ("x", "y", "x2", "y2") if name in frame]
    return alt.Chart(frame.assign(**{name: factor * frame[name] for name in places}))


def _metal(flange: Flange, strip_mm: tuple[float, float], factor: float) -> list[alt.Chart]:
    """Return the metal, its edges where they are edges, and the old row's line."""
    (first, last), width = strip_mm, flange.width_mm
    edges = [(first, 0.0, last, 0.0), (first, width, last, width)]
    edges += [(end, 0.0, end, width) for end in (0.0, flange.length_mm) if end in strip_mm]
    names = ["x", "y", "x2", "y2"]
    metal = pd.DataFrame([(first, 0.0, last, width)], columns=names)
    row = pd.DataFrame([(first, flange.row_mm, last, flange.row_mm)], columns=names)
    return [
        _chart(metal, factor).mark_rect(color=FIELD),
        _chart(pd.DataFrame(edges, columns=names), factor).mark_rule(color=INK, strokeWidth=2),
        _chart(row, factor).mark_rule(color=INK, strokeDash=[6, 4], opacity=0.6),
    ]


def _in_strip(marks: Iterable[_Mark], strip_mm: tuple[float, float]) -> Iterator[tuple[int, _Mark]]:
    for number, (place, row, size) in enumerate(marks, 1):
        if strip_mm[0] - size / 2 <= place <= strip_mm[1] + size / 2:
            yield number, (place, row, size)


def _discs(marks: Iterable[_Mark], strip_mm: tuple[float, float]) -> pd.DataFrame:
    """Return each disc as corners, since a mark of Vega-Lite has its size in pixels."""
    turn = np.linspace(0, 2 * np.pi, _CORNERS + 1)
    rows = [
        (number, corner, x + size / 2 * np.cos(angle), y + size / 2 * np.sin(angle))
        for number, (x, y, size) in _in_strip(marks, strip_mm)
        for corner, angle in enumerate(turn)
    ]
    return pd.DataFrame(rows, columns=["weld", "corner", "x", "y"], dtype=float)


def _strokes(marks: Iterable[_Mark], strip_mm: tuple[float, float]) -> pd.DataFrame:
    rows = [
        (x - arm, y - arm, x + arm, y + arm)
        for _, (x, y, size) in _in_strip(marks, strip_mm)
        for arm in (size / 2 * 0.7071,)
    ]
    return pd.DataFrame(rows, columns=["x", "y", "x2", "y2"], dtype=float)


def _numbers(
    marks: Iterable[_Mark], y_mm: float, strip_mm: tuple[float, float], factor: float
) -> alt.Chart:
    rows = [
        (number, x, y_mm)
        for number, (x, _, _) in _in_strip(marks, strip_mm)
        if strip_mm[0] <= x <= strip_mm[1]
    ]
    return _chart(pd.DataFrame(rows, columns=["number", "x", "y"], dtype=float), factor)
