"""Charts of the shop's review from ready frames: no figure is worked out here.

Each chart carries its key in words and its counts as text, so that it can be read in print, on a
phone and without colours; shapes and dashes say the same as the two colours. Signs in text are
those that a picture file shows on every computer.
"""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from advisor.language import msg, say
from advisor.pages.parts import chart_parts as parts
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import ACCENT, BAD, INK
from advisor.store.reviewing import Span

#: So many periods fit on a phone with the count under each.
MOST_PERIODS = 14
#: A row with its words above and below the bar. [px]
_ROW_PX = 72
#: Counts that stand closer than this share of the width would run into each other on a phone.
_APART = 0.05
_PERIODS: dict[Span, str] = {"week": msg("week"), "month": msg("month")}
_PASSED_OF: dict[Span, str] = {
    "week": msg("week, passed of judged"),
    "month": msg("month, passed of judged"),
}


def rates(
    table: pd.DataFrame, target: float, group: str | None = None, interval: str = "95 %"
) -> Chart:
    """Return pass rates of groups with pooled and raw intervals, in the order of the table.

    Parameters
    ----------
    table : DataFrame
        Columns ``name`` (each once), ``pooled``, ``pooled_low``, ``pooled_high`` (NaN: raw only),
        ``raw``, ``raw_low``, ``raw_high`` (shares; NaN: nothing judged), ``count`` (as
        "15 of 20"), ``standing`` (words) and ``reading`` (a line, for the tooltip).
    target : float
        Share the shop aims at.
    group : str, optional
        What a row is, as it is read; a welder when left out.
    interval : str
        Level of the intervals.
    """
    group = say("welder") if group is None else group
    y = _rows(table["name"], group)
    tips = parts.tips(
        ("name", group),
        ("count", say("passed")),
        ("standing", say("it is")),
        ("reading", say("read")),
    )
    pooled, raw = table.dropna(subset=["pooled"]), table.dropna(subset=["raw"])
    goal = pd.DataFrame({"target": [target], "words": [_target_words(target)]})
    x = alt.X(
        "target:Q",
        title=_share_title(interval),
        scale=parts.SHARE,
        axis=parts.axis(format="~%", tickCount=parts.TICKS),
    )
    rule = alt.Chart(goal).mark_rule(strokeDash=parts.DASHED, strokeWidth=1.5, color=INK).encode(x)
    label = parts.text(goal, "words", align="right", dy=-8).encode(
        alt.X("target:Q"), y=alt.value(0)
    )
    thin = _interval(raw, "raw", y, tips, offset=9, width=1.5, shape="circle", filled=False)
    thick = _interval(pooled, "pooled", y, tips, offset=-4, width=7, shape="diamond", filled=True)
    key = [say("thin line, hollow circle: this row alone")]
    if len(pooled):
        key.insert(0, say("thick line, filled diamond: pooled with the others"))
    # The count stands at the left too: at the right end lies the target.
    told = table.assign(told=table["count"] + " · " + table["standing"])
    layers = [rule, label, *thin, *(thick if len(pooled) else ()), _row_name(table, "name", y)]
    layers += [each.encode(y, x=alt.value(0)) for each in parts.haloed(told, "told", dy=22)]
    return parts.drawn(layers, [*key, " "], _ROW_PX * len(table))


def _target_words(target: float) -> str:
    return say("target {target:.0f} %", target=100 * target)


def _share_title(interval: str) -> str:
    return say("share that passed, {interval} intervals [%]", interval=interval)


def _rows(names: pd.Series[str], title: str) -> alt.Y:
    """Return one row a name; the names stand inside, since beside it a phone has no room."""
    axis = parts.axis(labels=False, ticks=False, domain=False, grid=False)
    return alt.Y("name:N", sort=list(names), title=title, axis=axis)


def _row_words(table: pd.DataFrame, name: str, y: alt.Y) -> list[alt.Chart]:
    """Return the name of each row above its bar, and the count at the right end."""
    right = parts.haloed(table, "count", dy=-23, align="right")
    return [
        _row_name(table, name, y),
        *(each.encode(y, x=alt.value("width")) for each in right),
    ]


def _row_name(table: pd.DataFrame, name: str, y: alt.Y) -> alt.Chart:
    words = parts.text(table, name, dy=-23, fontWeight="bold", fontSize=13, limit=200)
    chart: alt.Chart = words.encode(y, x=alt.value(0))
    return chart


def _interval(
    frame: pd.DataFrame,
    column: str,
    y: alt.Y,
    tips: list[alt.Tooltip],
    *,
    offset: float,
    width: float,
    shape: str,
    filled: bool,
) -> list[alt.Chart]:
    """Return an interval as a line with its rate as a mark."""
    color = ACCENT if filled else INK
    x, ends = alt.X(f"{column}:Q", scale=parts.SHARE), (f"{column}_low", f"{column}_high")
    base = alt.Chart(frame)
    look: dict[str, Any] = {"strokeWidth": width, "opacity": 0.5 if filled else 1, "color": color}
    line = base.mark_rule(yOffset=offset, **look)
    point = parts.mark(base, shape, color, filled, 130 if filled else 60, yOffset=offset)
    return [
        line.encode(alt.X(f"{ends[0]}:Q", scale=parts.SHARE), alt.X2(ends[1]), y, tooltip=tips),
        point.encode(x, y, tooltip=tips),
    ]


def reasons(table: pd.DataFrame, joints: int) -> Chart:
    """Return reasons for missing coverage as bars, as `pareto` draws causes.

    Parameters
    ----------
    table : DataFrame
        From `advisor.review.pareto.pareto`, with ``share_of_joints``.
    joints : int
        Joints without coverage.
    """
    named = table.rename(columns={"share_of_joints": "share_of_coupons"})
    of, counted = say("joints without coverage"), say("joints without coverage [count]")
    bars = say("bars: joints without coverage; one may have several of them")
    return _bars(named, joints, say("reason"), (of, counted, bars))


def pareto(table: pd.DataFrame, failing: int) -> Chart:
    """Return causes of failure as bars, with the running share of all causes named.

    Parameters
    ----------
    table : DataFrame
        From `advisor.review.pareto.pareto`.
    failing : int
        Failing coupons in all.
    """
    of, counted = say("failing coupons"), say("failing coupons [count]")
    bars = say("bars: failing coupons; one may have several of them")
    return _bars(table, failing, say("cause of failure"), (of, counted, bars))


def _bars(table: pd.DataFrame, failing: int, cause: str, words: tuple[str, str, str]) -> Chart:
    """Return bars; `words` say what they count: alone, as a title, and in the key."""
    of, counted, told = words
    frame = _causes(table, failing)
    y = _rows(frame["name"], cause)
    whole = alt.Scale(domain=[0, max(failing, 1)], nice=False)
    axis = parts.axis(format="d", tickMinStep=1, tickCount=parts.TICKS)
    x = alt.X("n:Q", title=counted, scale=whole, axis=axis)
    tips = parts.tips(("name", cause), ("count", of))
    bars = alt.Chart(frame).mark_bar(height=16, color=ACCENT).encode(x, y, tooltip=tips)
    key = [told, say("dashed line, circles: share of all that were named, added up")]
    # The words lie on the line, not under it.
    layers = [bars, alt.layer(*_running(frame, y), *_row_words(frame, "name", y))]
    chart: Chart = parts.drawn(layers, key, _ROW_PX * len(frame))
    joined: Chart = chart.resolve_scale(x="independent")
    return joined


def _causes(table: pd.DataFrame, failing: int) -> pd.DataFrame:
    """Return the causes with their counts and running shares as text."""
    counts = zip(table["count"], table["share_of_coupons"], strict=True)
    return table.rename(columns={"cause": "name"}).assign(
        n=table["count"],
        rank=range(len(table)),
        count=[
            say("{count} of {all} ({share:.0f} %)", count=count, all=failing, share=100 * share)
            for count, share in counts
        ],
        words=[say("{share:.0f} %", share=100 * share) for share in table["cumulative_of_causes"]],
    )


def _running(frame: pd.DataFrame, y: alt.Y) -> list[alt.Chart]:
    """Return the running share of the causes as a line a little below the bars."""
    axis = parts.axis(format="~%", tickCount=parts.TICKS, orient="top", grid=False)
    title = say("share of all that were named, running [%]")
    x = alt.X("cumulative_of_causes:Q", title=title, scale=parts.SHARE, axis=axis)
    tips = parts.tips(("name", say("down to")), ("words", say("of all named")))
    line = alt.Chart(frame).mark_line(color=BAD, strokeDash=parts.DASHED, yOffset=18)
    point = parts.mark(alt.Chart(frame), "circle", BAD, False, 60, yOffset=18)
    label = parts.text(frame, "words", dy=18, dx=-8, align="right", color=BAD)
    return [
        line.encode(x, y, order=alt.Order("rank:Q")),
        point.encode(x, y, tooltip=tips),
        label.encode(x, y),
    ]


def reliability(table: pd.DataFrame, event: str | None = None) -> Chart:
    """Return how often it happened against the chance that was foretold.

    Parameters
    ----------
    table : DataFrame
        From `advisor.review.foretold.reliability`.
    event : str, optional
        What was foretold, as it is read; a sound weld when left out.
    """
    event = say("a sound weld") if event is None else event
    chance = say("chance of {event}, foretold [%]", event=event)
    share = say("share with {event}, seen [%]", event=event)
    axis = parts.axis(format="~%", tickCount=parts.TICKS)
    x = alt.X("foretold:Q", title=chance, scale=parts.SHARE, axis=axis)
    y = alt.Y("seen:Q", title=share, scale=parts.SHARE, axis=axis)
    even = pd.DataFrame({"foretold": [0.0, 1.0], "seen": [0.0, 1.0]})
    frame = table.assign(words=_with_room(table))
    tips = parts.tips(("reading", say("read")), ("count", say("coupons")))
    base = alt.Chart(frame)
    ends = base.mark_rule(color=ACCENT, strokeWidth=2)
    return parts.drawn(
        [
            alt.Chart(even).mark_line(color=INK, strokeDash=parts.DASHED).encode(x, y),
            ends.encode(x, alt.Y("low:Q", scale=parts.SHARE), alt.Y2("high"), tooltip=tips),
            parts.mark(base, "diamond", ACCENT, True, 130).encode(x, y, tooltip=tips),
            # Upright at the foot, where bins that lie close leave room.
            parts.text(frame, "words", angle=270, dx=5, fontSize=11).encode(
                x, y=alt.value("height")
            ),
        ],
        [
            say("diamonds: seen, with 95 % intervals"),
            say("n: coupons, where there is room"),
            say("dashed: as often as foretold"),
        ],
        parts.PLOT_PX,
    )


def _with_room(table: pd.DataFrame) -> list[str]:
    """Return the counts of bins, those too near to the last one left out."""
    words, last = {}, -1.0
    for at, count in sorted(zip(table["foretold"], table["count"], strict=True)):
        if at - last >= _APART:
            words[at], last = say("n {count}", count=count), at
    return [words.get(at, "") for at in table["foretold"]]


def by_period(
    table: pd.DataFrame, target: float, period: Span = "week", interval: str = "95 %"
) -> Chart:
    """Return the pass rate of each period with its interval, and the count under it.

    Parameters
    ----------
    table : DataFrame
        Oldest first: ``period`` (short words, each once), ``raw``, ``raw_low``, ``raw_high``
        (shares; NaN: nothing judged), ``count`` (as "15 of 20"), ``reading``.
    target : float
        Share the shop aims at.
    period : {'week', 'month'}
        What a period is.
    interval : str
        Level of the intervals.
    """
    frame = table.assign(at=table["period"].astype(str) + "|" + table["count"].astype(str))
    axis = parts.axis(
        labelExpr="split(datum.label, '|')",
        labelAngle=-90,
        labelOverlap=len(table) > MOST_PERIODS,
        labelLimit=200,
    )
    x = alt.X("at:N", sort=list(frame["at"]), title=say(_PASSED_OF[period]), axis=axis)
    title = _share_title(interval)
    percents = parts.axis(format="~%", tickCount=parts.TICKS)
    judged = alt.Chart(frame.dropna(subset=["raw"]))
    tips = parts.tips(
        ("period", say(_PERIODS[period])), ("count", say("passed")), ("reading", say("read"))
    )
    low = alt.Y("raw_low:Q", title=title, scale=parts.SHARE, axis=percents)
    layers = [
        alt.Chart(frame).mark_point(opacity=0).encode(x),  # keeps a place for empty periods
        judged.mark_rule(color=ACCENT, strokeWidth=3, opacity=0.5).encode(
            x, low, alt.Y2("raw_high"), tooltip=tips
        ),
        parts.mark(judged, "diamond", ACCENT, True, 110).encode(
            x, alt.Y("raw:Q", scale=parts.SHARE), tooltip=tips
        ),
        *parts.level(target, _target_words(target), color=INK),
    ]
    return parts.drawn(layers, [say("diamonds: share that passed, with intervals")], parts.PLOT_PX)
