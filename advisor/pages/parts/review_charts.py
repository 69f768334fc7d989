"""Charts of the shop's review from ready frames: no figure is worked out here.

Each chart carries its key in words and its counts as text, so that it can be read in print, on a
phone and without colours; shapes and dashes say the same as the two colours. Signs in text are
those that a picture file shows on every computer.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import altair as alt
import pandas as pd

from advisor.language import msg, say
from advisor.pages.parts import chart_parts as parts
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import ACCENT, BAD, GROUND, INK
from advisor.review.intervals import percent
from advisor.store.reviewing import Span

#: So many periods fit on a phone with the count under each.
MOST_PERIODS = 14
#: A row with its words above and below the bar. [px]
_ROW_PX = 72
#: A bin of what was foretold: its words above its interval. [px]
_BIN_PX = 48
#: Widest name of a row; a phone's plot holds it. [px]
_WIDEST_PX = 260
#: A bar of more than this share of the width leaves no room for its count behind it on a phone.
_LONG_BAR = 0.75
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
        axis=_percents(),
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


def _percents(**more: Any) -> alt.Axis:
    """Return an axis of shares in percent, whose sign stands in the title."""
    return parts.axis(labelExpr="round(100 * datum.value)", tickCount=parts.TICKS, **more)


def _rows(names: pd.Series[str], title: str) -> alt.Y:
    """Return one row a name; the names stand inside, since beside it a phone has no room."""
    axis = parts.axis(labels=False, ticks=False, domain=False, grid=False)
    return alt.Y("name:N", sort=list(names), title=title, axis=axis)


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
        From `advisor.review.pareto.pareto`, its shares under any name.
    joints : int
        Joints without coverage.
    """
    words = _BarWords(
        cause=say("reason"),
        of=say("joints without coverage"),
        counted=say("joints without coverage [count]"),
        bars=say("bars: joints without coverage; one may have several of them"),
        running=say(
            "dashed, circles: share of the {count} reasons found, added up", count=_all(table)
        ),
    )
    return _bars(table, joints, words)


def pareto(table: pd.DataFrame, failing: int) -> Chart:
    """Return causes of failure as bars, with the running share of all causes named.

    Parameters
    ----------
    table : DataFrame
        From `advisor.review.pareto.pareto`.
    failing : int
        Failing coupons in all.
    """
    words = _BarWords(
        cause=say("cause of failure"),
        of=say("failing coupons"),
        counted=say("failing coupons [count]"),
        bars=say("bars: failing coupons; one may have several of them"),
        running=say(
            "dashed, circles: share of the {count} causes noted, added up", count=_all(table)
        ),
    )
    return _bars(table, failing, words)


class _BarWords(NamedTuple):
    """What a row is, what its bar counts (in a word, and with its unit), and the key of both."""

    cause: str
    of: str
    counted: str
    bars: str
    running: str


def _all(table: pd.DataFrame) -> int:
    """Return how many were named in all, which is more than coupons where one has several."""
    return int(table["count"].sum())


def _bars(table: pd.DataFrame, failing: int, words: _BarWords) -> Chart:
    frame = _causes(table, failing)
    y = _rows(frame["name"], words.cause)
    whole = alt.Scale(domain=[0, max(failing, 1)], nice=False)
    axis = parts.axis(format="d", tickMinStep=1, tickCount=parts.TICKS)
    x = alt.X("n:Q", title=words.counted, scale=whole, axis=axis)
    tips = parts.tips(("name", words.cause), ("count", words.of))
    bars = alt.Chart(frame).mark_bar(height=16, color=ACCENT).encode(x, y, tooltip=tips)
    line, point, label = _running(frame, y)
    counts = alt.layer(bars, *_counts(frame, x, y))
    # The words lie on the line, not under it.
    names = [each.encode(y, x=alt.value(0)) for each in _names(frame)]
    layers = [line, counts, alt.layer(point, *label, *names)]
    chart: Chart = parts.drawn(layers, [words.bars, words.running], _ROW_PX * len(frame))
    joined: Chart = chart.resolve_scale(x="independent")
    return joined


def _names(frame: pd.DataFrame) -> list[alt.Chart]:
    return parts.haloed(frame, "name", dy=-23, fontWeight="bold", fontSize=13, limit=_WIDEST_PX)


def _counts(frame: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Return the count at the end of each bar: behind it, or in it where it leaves no room."""
    is_long = frame["n"] > _LONG_BAR * frame["failing"]
    behind = parts.haloed(frame[~is_long], "count", dx=6)
    within = parts.text(frame[is_long], "count", dx=-6, align="right", fill=GROUND)
    shown = [*(behind if not is_long.all() else ()), *([within] if is_long.any() else ())]
    return [each.encode(x, y) for each in shown]


def _causes(table: pd.DataFrame, failing: int) -> pd.DataFrame:
    """Return the causes with their counts and running shares as text."""
    return table.rename(columns={"cause": "name"}).assign(
        n=table["count"],
        failing=failing,
        rank=range(len(table)),
        count=[say("{passed} of {judged}", passed=n, judged=failing) for n in table["count"]],
        words=[say("{share:.0f} %", share=100 * share) for share in table["cumulative_of_causes"]],
    )


def _running(frame: pd.DataFrame, y: alt.Y) -> tuple[alt.Chart, alt.Chart, list[alt.Chart]]:
    """Return the running share of the causes below the bars: line, circles and their words."""
    title = say("share of all that were named, running [%]")

    def x(axis: alt.Axis | None) -> alt.X:
        field = "cumulative_of_causes:Q"
        return alt.X(field, title=title, scale=parts.SHARE, axis=axis)

    tips = parts.tips(("name", say("down to")), ("words", say("of all named")))
    line = alt.Chart(frame).mark_line(color=BAD, strokeDash=parts.DASHED, yOffset=18)
    point = parts.mark(alt.Chart(frame), "circle", BAD, False, 60, yOffset=18)
    # The line comes from above and leaves to the right: to the left below there is room.
    label = parts.haloed(frame, "words", dy=27, dx=-7, align="right", color=BAD)
    return (
        line.encode(x(_percents(orient="top", grid=False)), y, order=alt.Order("rank:Q")),
        point.encode(x(None), y, tooltip=tips),
        [each.encode(x(None), y) for each in label],
    )


def reliability(table: pd.DataFrame, event: str | None = None) -> Chart:
    """Return how often it happened beside the chance that was foretold, a row a bin.

    Rows, because chances that lie close would stand on each other in a square; and only the part of
    0 to 100 % in which something lies.

    Parameters
    ----------
    table : DataFrame
        From `advisor.review.foretold.reliability`.
    event : str, optional
        What was foretold, as it is read; a sound weld when left out.
    """
    event = say("a sound weld") if event is None else event
    frame = _bins(table)
    y = _rows(frame["name"], say("chance of {event}, foretold [%]", event=event))
    share = say("share with {event}, seen [%]", event=event)
    ends = _ends(frame)
    scale = alt.Scale(domain=ends, nice=False)
    tips = parts.tips(("reading", say("read")), ("count", say("coupons")))

    def x(column: str) -> alt.X:
        return alt.X(f"{column}:Q", title=share, scale=scale, axis=_percents())

    base = alt.Chart(frame)
    line = base.mark_rule(color=ACCENT, strokeWidth=7, opacity=0.5)
    return parts.drawn(
        [
            line.encode(x("low"), alt.X2("high"), y, tooltip=tips),
            parts.mark(base, "diamond", ACCENT, True, 130).encode(x("seen"), y, tooltip=tips),
            parts.mark(base, "circle", INK, False, 70).encode(x("foretold"), y, tooltip=tips),
            *(each.encode(y, x=alt.value(0)) for each in _bin_words(frame)),
        ],
        [
            say("diamonds: seen, with 95 % intervals"),
            say("circles: foretold; n: coupons"),
        ],
        _BIN_PX * len(frame),
    )


def _bins(table: pd.DataFrame) -> pd.DataFrame:
    """Return the bins with a name for each row, and what it says."""
    said = [
        say("foretold {foretold} %, seen {seen} %, n {count}", **each)
        for each in (
            {"foretold": percent(foretold), "seen": percent(seen), "count": count}
            for foretold, seen, count in zip(
                table["foretold"], table["seen"], table["count"], strict=True
            )
        )
    ]
    # Two bins may read the same.
    return table.assign(name=[str(n) for n in range(len(table))], words=said)


def _bin_words(frame: pd.DataFrame) -> list[alt.Chart]:
    return parts.haloed(frame, "words", dy=-17)


def _ends(frame: pd.DataFrame) -> list[float]:
    """Return the tenths between which all of the intervals and chances lie."""
    lowest = min(frame["low"].min(), frame["foretold"].min())
    highest = max(frame["high"].max(), frame["foretold"].max())
    first = min(math.floor(10 * lowest + 1e-9), 9)
    return [first / 10, max(math.ceil(10 * highest - 1e-9), first + 1) / 10]


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
    judged = alt.Chart(frame.dropna(subset=["raw"]))
    tips = parts.tips(
        ("period", say(_PERIODS[period])), ("count", say("passed")), ("reading", say("read"))
    )
    low = alt.Y("raw_low:Q", title=title, scale=parts.SHARE, axis=_percents())
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
