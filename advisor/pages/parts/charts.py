"""Charts from ready frames: the frames come in the person's units, no figure is worked out here."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt
import pandas as pd

from advisor.pages.parts.look import ACCENT, BAD, GOOD

Chart = alt.LayerChart | alt.FacetChart


def size_against_current(
    curve: pd.DataFrame, tested: pd.DataFrame, current_unit: str, size_unit: str
) -> Chart:
    """Return expected size with its 90 % range, the minimum, and the coupons of the stack.

    Parameters
    ----------
    curve : DataFrame
        Columns ``current``, ``size``, ``low``, ``high``, ``minimum``.
    tested : DataFrame
        Columns ``coupon``, ``current``, ``size``, ``verdict``; may be empty.
    current_unit, size_unit : str
        Units of both frames.
    """
    top = float(min(curve["high"].max(), 3 * curve["minimum"].max()))
    scale = alt.Scale(domain=[0, top], clamp=True)
    x = alt.X("current:Q", title=f"weld current [{current_unit}]", scale=alt.Scale(zero=False))

    def y(name: str) -> alt.Y:
        return alt.Y(f"{name}:Q", title=f"weld size [{size_unit}]", scale=scale)

    base = alt.Chart(curve)
    layers = [
        base.mark_area(opacity=0.18, color=ACCENT, clip=True).encode(x, y("low"), alt.Y2("high")),
        base.mark_line(color=ACCENT, strokeWidth=3, clip=True).encode(x, y("size")),
        base.mark_line(color=BAD, strokeDash=[6, 4], clip=True).encode(x, y("minimum")),
    ]
    if len(tested):
        words = ["pass", "fail"]
        shape = alt.Scale(domain=words, range=["circle", "cross"])
        color = alt.Scale(domain=words, range=[GOOD, BAD])
        layers.append(
            alt.Chart(tested)
            .mark_point(size=90, filled=True)
            .encode(
                x,
                y("size"),
                alt.Shape("verdict:N", title=None, scale=shape, legend=alt.Legend(orient="top")),
                alt.Color("verdict:N", title=None, scale=color),
                tooltip=["coupon", "current", "size", "verdict"],
            )
        )
    return alt.layer(*layers).properties(height=300)


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
    x = alt.X("thickness:Q", title=f"sheet thickness [{thickness_unit}]")
    color = alt.Color(
        "stack:N",
        title=None,
        scale=alt.Scale(domain=stacks, range=[ACCENT, BAD]),
        legend=alt.Legend(orient="top", symbolOpacity=1),
    )
    # The second line is dashed, so that the first shows through where both are one.
    dash = alt.StrokeDash(
        "stack:N", title=None, scale=alt.Scale(domain=stacks, range=[[1, 0], [8, 8]])
    )
    shape = alt.Shape(
        "stack:N", title=None, scale=alt.Scale(domain=stacks, range=["circle", "square"])
    )
    base = alt.Chart(curves)
    return alt.layer(
        base.mark_area(opacity=0.13, interpolate="step-before").encode(
            x, alt.Y("low:Q", title=title), alt.Y2("high"), color
        ),
        base.mark_line(strokeWidth=3).encode(x, alt.Y("start:Q"), color, dash),
        alt.Chart(points)
        .mark_point(size=180, filled=True, opacity=1)
        .encode(x, alt.Y("start:Q"), color, shape),
    ).properties(height=340)


def pass_rates(table: pd.DataFrame) -> Chart:
    """Return rates with their intervals, in the order of the table.

    Parameters
    ----------
    table : DataFrame
        Columns ``name``, ``rate``, ``low``, ``high``, ``reading``.
    """
    y = alt.Y("name:N", sort=list(table["name"]), title=None, axis=alt.Axis(labelLimit=260))
    scale = alt.Scale(domain=[0, 1])
    axis = alt.Axis(format="%")
    bars = (
        alt.Chart(table)
        .mark_rule(strokeWidth=5, color=ACCENT, opacity=0.45)
        .encode(
            alt.X("low:Q", title="share that passed", scale=scale, axis=axis), alt.X2("high"), y
        )
    )
    points = (
        alt.Chart(table)
        .mark_point(size=120, filled=True, shape="diamond", color=ACCENT, opacity=1)
        .encode(alt.X("rate:Q"), y, tooltip=["name", "reading"])
    )
    return alt.layer(bars, points).properties(height=60 + 44 * len(table))
