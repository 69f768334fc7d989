"""Charts from ready frames: the frames come in the person's units, no figure is worked out here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import altair as alt
import pandas as pd

from advisor.language import msg, say
from advisor.learning.choice import WINDOW
from advisor.pages.parts import chart_marks as chart_marks  # every chart is written so
from advisor.pages.parts.palette import ACCENT, BAD, GOOD, GROUND, INK, SIGNAL, UNTESTED
from advisor.pages.parts.palette import TESTED as TESTED

Chart = alt.LayerChart | alt.FacetChart

#: What lies on a chart, as messages for `say`; the frames hold them as they are.
PASS, FAIL = msg("pass"), msg("fail")
EXPULSION, OPEN = msg("expulsion"), msg("not yet judged")
NEXT, PROVEN = msg("next coupon"), msg("proven setting")
LIKELIEST = msg("likeliest to be sound")


@dataclass(frozen=True)
class Mark:
    """How a coupon, or a setting that is proposed, looks on a chart.

    Parameters
    ----------
    shape, colour, size
        As the chart draws it; told apart by shape first.
    sign : str
        The same in a line of text.
    """

    shape: str
    colour: str
    size: float
    sign: str


#: Coupons, large marks first, since they are drawn in this order; then what is proposed, hollow.
MARKS = {
    PASS: Mark("circle", GOOD, 150, "●"),
    OPEN: Mark("stroke", INK, 150, "▬"),
    EXPULSION: Mark("triangle-up", INK, 110, "▲"),
    FAIL: Mark("cross", BAD, 80, "✚"),
    LIKELIEST: Mark("square", INK, 400, "□"),
    NEXT: Mark("diamond", INK, 600, "◇"),
    PROVEN: Mark("diamond", INK, 600, "◇"),
}
_PROPOSED = (LIKELIEST, NEXT, PROVEN)
_AXIS = alt.Axis(labelColor=INK, titleColor=INK)
#: Cells reach this share of a step past their middle, so that no seam shows between them.
_OVERLAP = 0.56
#: Where the colours of the maps change; the last step is the window.
LEVELS = [0.25, 0.5, 0.75, WINDOW]


def size_against_current(
    curve: pd.DataFrame, tested: pd.DataFrame, current_unit: str, size_unit: str
) -> Chart:
    """Return expected size with its 90 % range, the minimum, and the coupons of the stack.

    Parameters
    ----------
    curve : DataFrame
        Columns ``current``, ``size``, ``low``, ``high``, ``minimum``.
    tested : DataFrame
        Columns ``coupon``, ``current``, ``size``, ``what`` (a key of `MARKS`); may be empty.
    current_unit, size_unit : str
        Units of both frames.
    """
    top = float(min(curve["high"].max(), 3 * curve["minimum"].max()))
    scale = alt.Scale(domain=[0, top], clamp=True)
    title = say("weld current [{unit}]", unit=current_unit)
    x = alt.X("current:Q", title=title, scale=alt.Scale(zero=False, padding=12), axis=_AXIS)

    def y(name: str) -> alt.Y:
        title = say("weld size [{unit}]", unit=size_unit)
        return alt.Y(f"{name}:Q", title=title, scale=scale, axis=_AXIS)

    base = alt.Chart(curve)
    layers = [
        base.mark_area(opacity=0.18, color=ACCENT, clip=True).encode(x, y("low"), alt.Y2("high")),
        base.mark_line(color=ACCENT, strokeWidth=3, clip=True).encode(x, y("size")),
        base.mark_line(color=BAD, strokeDash=[6, 4], clip=True).encode(x, y("minimum")),
    ]
    if len(tested):
        tips = _tips(
            {"coupon:N": say("coupon"), "current:Q": say("current"), "size:Q": say("size")}
        )
        layers.append(_coupons(tested, tips).encode(x, y("size")))
    return alt.layer(*layers).properties(height=300)


def _tips(titles: dict[str, str]) -> list[alt.Tooltip]:
    """Return tooltips of fields by their titles, and of what a mark is."""
    titles = titles | {"what:N": say("what")}
    return [alt.Tooltip(field, title=title) for field, title in titles.items()]


def _coupons(frame: pd.DataFrame, tips: list[alt.Tooltip]) -> alt.Chart:
    """Return the marks of coupons, each told by its shape; a large one shows round a small one."""
    found = [what for what in MARKS if what in set(frame["what"])]
    marks, words = [MARKS[what] for what in found], [say(what) for what in found]
    frame = frame.assign(what=frame["what"].map(say))

    def scale(values: list[str] | list[float]) -> alt.Scale:
        # Vega-Lite would spread the sizes of one or two words between the ends of the range.
        return alt.Scale(type="ordinal", domain=words, range=values)

    ordered = frame.sort_values("what", key=lambda what: what.map(words.index), kind="stable")
    chart: alt.Chart = (
        alt.Chart(ordered)
        .mark_point(filled=True, opacity=1, stroke=GROUND, strokeWidth=1.5, clip=True)
        .encode(
            alt.Shape("what:N", scale=scale([m.shape for m in marks]), legend=None),
            alt.Color("what:N", scale=scale([m.colour for m in marks]), legend=None),
            alt.Size("what:N", scale=scale([m.size for m in marks]), legend=None),
            tooltip=tips,
        )
    )
    return chart


def _proposed(frame: pd.DataFrame) -> list[alt.Chart]:
    """Return hollow marks, light within dark, that show on any colour and hide no coupon."""
    return [
        alt.Chart(frame[frame["what"] == what].assign(what=say(what)))
        .mark_point(
            shape=MARKS[what].shape,
            size=MARKS[what].size,
            filled=False,
            opacity=1,
            stroke=colour,
            strokeWidth=width,
        )
        .encode(alt.X("x:Q"), alt.Y("y:Q"), tooltip=_tips({}))
        for what in _PROPOSED
        for colour, width in ((INK, 6), (SIGNAL, 2.5))
        if what in set(frame["what"])
    ]


def chance_map(cells: pd.DataFrame, marks: pd.DataFrame, x_title: str, y_title: str) -> Chart:
    """Return the chance of a sound weld as a map, with what was tested and what comes next on it.

    Parameters
    ----------
    cells : DataFrame
        Columns ``x``, ``y`` (an even grid), ``chance`` (0 to 1) and ``tested``.
    marks : DataFrame
        Columns ``x``, ``y``, ``what`` (a key of `MARKS`) and ``count``.
    x_title, y_title : str
        Quantities with their units.
    """
    x_step, x_scale = _grid_scale(cells["x"])
    y_step, y_scale = _grid_scale(cells["y"])
    layers = [
        alt.Chart(cells)
        .transform_filter(alt.datum.tested == is_tested)
        .transform_calculate(
            left=alt.datum.x - x_step / 2,
            right=alt.datum.x + x_step * _OVERLAP,
            low=alt.datum.y - y_step / 2,
            high=alt.datum.y + y_step * _OVERLAP,
        )
        .mark_rect(clip=True, aria=False)  # thousands of cells; the whole map is told in a sentence
        .encode(
            alt.X("left:Q", title=x_title, scale=x_scale, axis=_AXIS),
            alt.Y("low:Q", title=y_title, scale=y_scale, axis=_AXIS),
            alt.X2("right:Q"),
            alt.Y2("high:Q"),
            alt.Color("chance:Q", scale=_steps(colours), legend=None),
            tooltip=[alt.Tooltip("chance:Q", format=".0%", title=say("chance of a sound weld"))],
        )
        for is_tested, colours in ((True, TESTED), (False, UNTESTED))
    ]
    coupons = marks[~marks["what"].isin(_PROPOSED)]
    if len(coupons):
        tips = [*_tips({}), alt.Tooltip("count:Q", title=say("count"))]
        layers.append(_coupons(coupons, tips).encode(alt.X("x:Q"), alt.Y("y:Q")))
    chart: Chart = alt.layer(*layers, *_proposed(marks)).resolve_scale(color="independent")
    return chart.properties(height=320)


def _grid_scale(values: pd.Series[float]) -> tuple[float, alt.Scale]:
    """Return the step of an even grid and a scale that holds its cells."""
    places = values.drop_duplicates()
    low, high = float(places.min()), float(places.max())
    step = (high - low) / (len(places) - 1)
    return step, alt.Scale(domain=[low - step / 2, high + step / 2], nice=False, zero=False)


def _steps(colours: list[str]) -> alt.Scale:
    return alt.Scale(type="threshold", domain=LEVELS, range=colours)


def start_against_thickness(
    curves: pd.DataFrame, points: pd.DataFrame, thickness_unit: str, title: str
) -> Chart:
    """Return published band and start of two stacks against sheet thickness.

    Parameters
    ----------
    curves : DataFrame
        Columns ``stack``, ``thickness``, ``low``, ``start``, ``high``.
    points : DataFrame
        Columns ``stack``, ``thickness``, ``start``: where the two stacks are.
    thickness_unit, title : str
        Unit of the thickness, and the quantity with its unit.
    """
    stacks: Sequence[str] = list(dict.fromkeys(points["stack"]))
    across = say("sheet thickness [{unit}]", unit=thickness_unit)
    x = alt.X("thickness:Q", title=across, axis=_AXIS)
    color = alt.Color(
        "stack:N",
        title=None,
        scale=alt.Scale(domain=stacks, range=[ACCENT, BAD]),
        legend=alt.Legend(
            orient="top",
            direction="vertical",
            symbolOpacity=1,
            symbolSize=150,
            labelColor=INK,
            labelFontSize=13,
        ),
    )
    shape = alt.Shape(
        "stack:N", title=None, scale=alt.Scale(domain=stacks, range=["circle", "square"])
    )
    # The second line is dashed, so that the first shows through where both are one. As marks of
    # their own: a scale of dashes would break the outlines of the legend's signs.
    lines = [
        alt.Chart(curves[curves["stack"] == stack])
        .mark_line(strokeWidth=3, strokeDash=dash)
        .encode(x, alt.Y("start:Q"), color)
        for stack, dash in zip(stacks, ([1, 0], [8, 8]), strict=True)
    ]
    return alt.layer(
        alt.Chart(curves)
        .mark_area(opacity=0.13, interpolate="step-before")
        .encode(x, alt.Y("low:Q", title=title, axis=_AXIS), alt.Y2("high"), color),
        *lines,
        alt.Chart(points)
        .mark_point(size=180, filled=True, opacity=1)
        .encode(x, alt.Y("start:Q"), color, shape),
    ).properties(height=300, autosize=alt.AutoSizeParams(type="fit-x", contains="padding"))
