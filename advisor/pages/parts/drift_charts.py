"""Control charts and wear of a machine from ready frames: no figure is worked out here.

Each chart carries its key in words and its counts as text, so that it can be read in print, on a
phone and without colours; shapes and dashes say the same as the two colours. Signs in text are
those that a picture file shows on every computer.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

import altair as alt
import pandas as pd

from advisor.language import figure, msg, say
from advisor.pages.parts import chart_parts as parts
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import ACCENT, BAD, INK, SOFT

#: Quantities with their units, messages for `say`.
SIZE_TITLE = msg("weld size / √thickness [mm/√mm]")
AVERAGE_TITLE = msg("weighted average of size / √thickness [mm/√mm]")
RANGE_TITLE = msg("from one coupon to the next [mm/√mm]")
_DOTTED = [2, 3]
#: So many times a word may stand along upright lines before it crowds a phone.
_MOST_WORDS = 3
#: How a coupon looks on a control chart: shape, colour, whether filled, and the sign in the key.
_STABLE, _LATER, _SIGNAL = msg("stable period"), msg("later"), msg("signal")
_UNKNOWN, _NO_SIZE = msg("not held against limits"), msg("no size")
_LOOKS = {
    _STABLE: ("circle", INK, False, "○"),
    _LATER: ("circle", ACCENT, True, "●"),
    _UNKNOWN: ("square", INK, False, "□"),
    _SIGNAL: ("triangle-up", BAD, True, "▲"),
    _NO_SIZE: ("triangle-down", BAD, True, "▼"),
}
_VALUES = {"adjusted": msg("adjusted"), "ewma": msg("ewma"), "range": msg("range")}


def individuals(
    points: pd.DataFrame,
    centre: float,
    minimum: float | None = None,
    events: pd.DataFrame | None = None,
    y_title: str = SIZE_TITLE,
) -> Chart:
    """Return coupons in order of welding against centre and limits.

    Parameters
    ----------
    points : DataFrame
        In order of welding: ``number``, ``made_at``, ``value`` as tested, ``adjusted`` like for
        like (NaN: no size), ``lower``, ``upper`` limits of each, ``phase`` ("stable" or "later"),
        ``signal`` in words or empty, ``known``; ``order`` if it is not that of the rows.
    centre, minimum : float
        Mean of the stable period, and the smallest value that passes; both in `y_title`'s unit.
    events : DataFrame, optional
        Columns ``order`` (2.5 is between the second and the third coupon) and ``what``.
    y_title : str
        Quantity with its unit, a message for `say`.
    """
    return _control(points, "adjusted", ("lower", "upper"), centre, minimum, events, y_title)


def ewma(
    points: pd.DataFrame,
    centre: float,
    minimum: float | None = None,
    events: pd.DataFrame | None = None,
    y_title: str = AVERAGE_TITLE,
) -> Chart:
    """Return the weighted average of the coupons so far against centre and limits.

    Parameters
    ----------
    points : DataFrame
        As for `individuals`, with ``ewma``, ``ewma_lower``, ``ewma_upper``.
    centre, minimum, events, y_title
        As for `individuals`.
    """
    ends = ("ewma_lower", "ewma_upper")
    return _control(points, "ewma", ends, centre, minimum, events, y_title)


def ranges(
    points: pd.DataFrame,
    mean: float,
    largest: float,
    events: pd.DataFrame | None = None,
    y_title: str = RANGE_TITLE,
) -> Chart:
    """Return the ranges from one coupon to the next against their mean and limit.

    Parameters
    ----------
    points : DataFrame
        As for `individuals`, with ``range`` (NaN for the first).
    mean, largest : float
        Mean range of the stable period and the largest that is chance, in `y_title`'s unit.
    events, y_title
        As for `individuals`.
    """
    ranged = points.dropna(subset=["range"]).assign(upper=largest)
    return _control(ranged, "range", ("upper",), mean, None, events, y_title)


def _control(
    points: pd.DataFrame,
    column: str,
    limits: Sequence[str],
    centre: float,
    minimum: float | None,
    events: pd.DataFrame | None,
    y_title: str,
) -> Chart:
    frame = points if "order" in points else points.assign(order=range(1, len(points) + 1))
    frame = frame.assign(what=_what(frame, column), day=_days(frame["made_at"], with_year=True))
    scale = alt.Scale(domainMin=0) if column == "range" else parts.LOOSE
    y_title = say(y_title)
    x, y = _order(frame), alt.Y(f"{column}:Q", title=y_title, scale=scale, axis=parts.axis())
    base = alt.Chart(frame)
    dotted = base.mark_line(strokeDash=_DOTTED, color=INK, interpolate="step")
    layers = [dotted.encode(x, alt.Y(f"{each}:Q", title=y_title)) for each in limits]
    layers += [*parts.level(centre, "", color=SOFT, strokeDash=[1, 0])]
    usual = _usual(events)
    layers += _lines(events, x, usual)
    layers.append(base.mark_line(color=SOFT, strokeWidth=1).encode(x, y))
    layers += [_kind(frame, what, x, y) for what in _LOOKS if what in set(frame["what"])]
    # Words come last, so that their halo keeps every line off them.
    if minimum is not None:
        layers += parts.level(minimum, _minimum_words(minimum))
    layers += _event_words(events, x, usual)
    key = _key(set(frame["what"]), has_minimum=minimum is not None, usual=usual)
    return parts.drawn(layers, key, parts.PLOT_PX)


def _minimum_words(minimum: float) -> str:
    return say("minimum {minimum:g}", minimum=minimum)


def _key(found: set[str], *, has_minimum: bool, usual: str) -> list[str]:
    """Return the key of a chart in words, three marks a line."""
    shown = [f"{_LOOKS[what][3]} {say(what)}" for what in _LOOKS if what in found]
    key = [", ".join(shown[start : start + 3]) for start in range(0, len(shown), 3)]
    if has_minimum:
        key.append(say("line: centre; dotted: limits; dashed: minimum"))
    else:
        key.append(say("line: centre; dotted: limits"))
    return [*key, say("upright lines: {what}", what=usual)] if usual else key


def _what(frame: pd.DataFrame, column: str) -> list[str]:
    """Return what each coupon is drawn as; a signal before all but a missing size."""
    known = frame["known"] if "known" in frame else [True] * len(frame)
    return [
        _NO_SIZE
        if pd.isna(value)
        else _SIGNAL
        if signal
        else _UNKNOWN
        if not is_known
        else _STABLE
        if phase == "stable"
        else _LATER
        for value, signal, is_known, phase in zip(
            frame[column], frame["signal"], known, frame["phase"], strict=True
        )
    ]


def _kind(frame: pd.DataFrame, what: str, x: alt.X, y: alt.Y) -> alt.Chart:
    shape, color, filled, _ = _LOOKS[what]
    offset = -8 if what == _NO_SIZE else 0  # at the foot, since it has no height of its own
    tips = parts.tips(
        ("number", say("coupon")),
        ("day", say("welded")),
        ("value", say("as tested")),
        ("what", say("it is")),
    )
    tips += parts.tips(*((name, say(words)) for name, words in _VALUES.items() if name in frame))
    tips += parts.tips(("signal", say("signal")))
    mine = frame[frame["what"] == what].assign(what=say(what))
    points = parts.mark(alt.Chart(mine), shape, color, filled, 80, yOffset=offset)
    if what == _NO_SIZE:
        return points.encode(x, y=alt.value("height"), tooltip=tips)
    return points.encode(x, y, tooltip=tips)


def _order(frame: pd.DataFrame) -> alt.X:
    """Return the order of welding as an axis that tells the days."""
    step = max(1, -(-len(frame) // parts.TICKS))
    places = [int(order) for order in frame["order"][::step]]
    at = pd.to_datetime(frame["made_at"])
    words = _days(at[::step], with_year=(at.max() - at.min()).days > 300)
    axis = parts.axis(
        values=places,
        labelExpr=f"{json.dumps(words)}[indexof({json.dumps(places)}, datum.value)]",
        grid=False,
    )
    ends = [float(frame["order"].min()) - 0.5, float(frame["order"].max()) + 0.5]
    scale = alt.Scale(domain=ends, nice=False, zero=False)
    title = say("coupons in order of welding [day]")
    return alt.X("order:Q", title=title, scale=scale, axis=axis)


def _days(at: pd.Series[pd.Timestamp], *, with_year: bool) -> list[str]:
    form = "%b %Y" if with_year else "%b"
    return [say("{day} {month}", day=t.day, month=figure(t, form)) for t in pd.to_datetime(at)]


def _usual(events: pd.DataFrame | None) -> str:
    """Return what was done so often that its word at each line would run into the next one."""
    if events is None or events.empty:
        return ""
    counts = events["what"].value_counts()
    return str(counts.index[0]) if counts.iloc[0] > _MOST_WORDS else ""


def _lines(events: pd.DataFrame | None, x: alt.X, usual: str) -> list[alt.Chart]:
    """Return upright lines; those of `usual` differ, and are told in the key alone."""
    if events is None or events.empty:
        return []
    is_usual = events["what"] == usual
    return [
        alt.Chart(frame)
        .mark_rule(strokeDash=dash, color=color)
        .encode(x, tooltip=parts.tips(("what", say("here"))))
        for frame, dash, color in (
            (events[is_usual], [8, 3, 2, 3], SOFT),
            (events[~is_usual], [12, 3], INK),
        )
        if len(frame)
    ]


def _event_words(events: pd.DataFrame | None, x: alt.X, usual: str) -> list[alt.Chart]:
    """Return the words along the upright lines."""
    named = events if events is None else events[events["what"] != usual]
    if named is None or named.empty:
        return []
    words = parts.haloed(
        named, "what", angle=270, align="right", baseline="bottom", dy=-2, fontSize=11
    )
    return [each.encode(x, y=alt.value(4)) for each in words]


def wear(
    points: pd.DataFrame,
    line: pd.DataFrame,
    minimum: float,
    dress_at: float | None = None,
    band: str | None = None,
    y_title: str = SIZE_TITLE,
) -> Chart:
    """Return size against welds since dressing, with the fitted line and its band.

    Parameters
    ----------
    points : DataFrame
        Columns ``number``, ``welds`` since dressing, ``value``.
    line : DataFrame
        Columns ``welds``, ``fitted``, ``low``, ``high``; may be empty.
    minimum : float
        Smallest value that passes, in `y_title`'s unit.
    dress_at : float, optional
        Welds after which to dress.
    band : str, optional
        What the band is, as it is read; that of a single weld when left out.
    y_title : str
        Quantity with its unit, a message for `say`.
    """
    y_title = say(y_title)
    band = say("95 % band of a single weld") if band is None else band
    title = say("welds since dressing [count]")
    x = alt.X("welds:Q", title=title, scale=parts.LOOSE, axis=parts.axis(tickCount=parts.TICKS))

    def y(name: str) -> alt.Y:
        axis = parts.axis(tickCount=parts.TICKS)
        return alt.Y(f"{name}:Q", title=y_title, scale=parts.LOOSE, axis=axis)

    fitted = alt.Chart(line)
    tips = parts.tips(
        ("number", say("coupon")), ("welds", say("welds since dressing")), ("value", y_title)
    )
    tested = parts.mark(alt.Chart(points), "circle", INK, False, 60).encode(
        x, y("value"), tooltip=tips
    )
    layers: list[alt.Chart] = []
    key = [say("circles: coupons")]
    if len(line):
        area = fitted.mark_area(opacity=0.18, color=ACCENT).encode(x, y("low"), alt.Y2("high"))
        mean = fitted.mark_line(color=ACCENT, strokeWidth=3).encode(x, y("fitted"))
        layers = [area, mean]
        key.append(say("line: fitted mean; shaded: {band}", band=band))
    if dress_at is not None:
        words = say("dress at {welds:g} welds", welds=dress_at)
        event = pd.DataFrame({"welds": [dress_at], "what": [words]})
        layers += _lines(event, x, "")
    layers += [tested, *parts.level(minimum, _minimum_words(minimum))]
    if dress_at is not None:
        layers += _at_the_foot(event, x, points["welds"])
    return parts.drawn(layers, key, parts.PLOT_PX)


def _at_the_foot(event: pd.DataFrame, x: alt.X, welds: pd.Series[float]) -> list[alt.Chart]:
    """Return the words of an upright line below the band, on the side that has more room."""
    is_right = event["welds"].iloc[0] > (welds.min() + welds.max()) / 2
    align, dx = ("right", -5) if is_right else ("left", 5)
    words = parts.haloed(event, "what", align=align, dx=dx, baseline="bottom", dy=-4)
    return [each.encode(x, y=alt.value("height")) for each in words]
