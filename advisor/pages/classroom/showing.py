"""Welds of the class side by side: sections that grow, curves, figures. Works nothing out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import pandas as pd
import streamlit as st

from advisor.errors import AdvisorError
from advisor.heat.history import WeldHistory
from advisor.language import figure, msg, say
from advisor.pages.parts import weld_cache
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.chart_files import downloads, table_html
from advisor.pages.parts.plain import plain
from advisor.pages.parts.weld_charts import growth_chart, resistance_chart
from advisor.pages.parts.weld_legend import legend
from advisor.pages.parts.weld_picture import WeldDrawing, playing, still
from advisor.pages.review.filters import mark_of
from advisor.pages.session import Session
from advisor.teaching.figures import figures, growth
from advisor.teaching.lesson import Shown
from advisor.units import NO_CALIBRATION, from_inner, label

#: Steps of the time slider. [ms]
_TICK_MS = 5
#: Two welds of two interfaces fit a phone; the first cell of a line names its quantity.
_TABLE_STYLE = """
<style>
.weld-figures .figures { max-height: none; }
.weld-figures .figures th, .weld-figures .figures td { padding-inline: 0 .6rem; }
.weld-figures .figures td:first-child { font-weight: 650; }
</style>
"""


def set_up(session: Session, shown: Shown) -> str:
    """Return what is welded and with what, as HTML."""
    lines = [shown.stack.title(session.thickness), " · ".join(dials(session, shown))]
    if shown.neighbour_pitch_mm:
        pitch = session.units.show("length", shown.neighbour_pitch_mm)
        lines.append(say("{pitch} beside an earlier weld", pitch=pitch))
    head = f"{shown.name}: {say(shown.what)}" if shown.what else shown.name
    return f'<div class="card"><div class="name">{head}</div>{bullets(lines)}</div>'


def dials(session: Session, shown: Shown) -> list[str]:
    """Return current, time, force and face of a weld in words."""
    face = session.units.show("diameter", shown.electrode.face_mm)
    return [*session.units.dials(shown.setting), say("face {size}", size=face)]


def calculated(welds: Sequence[Shown]) -> list[WeldHistory] | None:
    """Return the welds on the usual grid; until they are there, rough sections are on the page.

    Where the model has nothing to say of one of them its sentence is shown, and None returned.
    """
    place = st.empty()
    try:
        if not all(weld_cache.is_whole(each) for each in welds):
            _refine(place, welds)
        return [weld_cache.whole(each) for each in welds]
    except AdvisorError as error:
        place.empty()
        st.error(plain(error))
        return None


def _refine(place: st.delta_generator.DeltaGenerator, welds: Sequence[Shown]) -> None:
    """Show rough sections at once and a bar while the welds are calculated on the usual grid."""
    with place.container():
        st.caption(say("On a coarse grid first; it is refined now."))
        drawings = _drawings(welds, [weld_cache.rough(each) for each in welds])
        for column, drawing in zip(st.columns(len(welds)), drawings, strict=True):
            with column:
                _draw(still(drawing, drawing.moments - 1, []))
        bar = st.progress(0.0)
        for done, shown in enumerate(welds):
            weld_cache.whole(shown, told(bar, done, len(welds)))
    place.empty()


def told(bar: st.delta_generator.DeltaGenerator, done: int, count: int) -> Callable[[float], None]:
    """Return what moves a bar while one of several is calculated."""

    def tell(share: float) -> None:
        bar.progress((done + share) / count)

    return tell


def _drawings(welds: Sequence[Shown], histories: Sequence[WeldHistory]) -> list[WeldDrawing]:
    """Return the welds ready to be drawn, all to one scale."""
    found = [
        WeldDrawing(shown.name, shown.stack, shown.electrode, history)
        for shown, history in zip(welds, histories, strict=True)
    ]
    widest = max(each.half_width_mm for each in found)
    return [replace(each, least_half_mm=widest) for each in found]


def sections(
    session: Session, welds: Sequence[Shown], histories: Sequence[WeldHistory], key: str
) -> None:
    """Draw the sections with the slider that moves them all, or let them play."""
    st.html(legend())
    _sections(session, tuple(welds), _drawings(welds, histories), key)


@st.fragment
def _sections(
    session: Session, welds: tuple[Shown, ...], drawings: list[WeldDrawing], key: str
) -> None:
    longest = max(float(each.history.times_ms[-1]) for each in drawings)
    end = int(np.ceil(longest / _TICK_MS)) * _TICK_MS
    plays = st.toggle(say("Play"), key=f"{key}·play")
    time = st.slider(
        say("Time from the start of the current [ms]"),
        0,
        end,
        end,
        _TICK_MS,
        key=f"{key}·time",
        disabled=plays,
    )
    for column, shown, drawing in zip(st.columns(len(welds)), welds, drawings, strict=True):
        with column:
            st.markdown(f"**{shown.name}** {say(shown.what) if shown.what else ''}")
            if plays:
                every = [_sizes(session, drawing, moment) for moment in range(drawing.moments)]
                drawn, style = playing(drawing, every)
                st.html(style)
                _draw(drawn)
            else:
                moment = drawing.moment_at(time)
                _draw(still(drawing, moment, _sizes(session, drawing, moment)))


def _draw(svg: str) -> None:
    """Put a drawing of ours on the page: `st.html` would take its shapes out."""
    st.markdown(svg, unsafe_allow_html=True)


def _sizes(session: Session, drawing: WeldDrawing, moment: int) -> list[str]:
    return [
        session.units.show("diameter", size) if size > 0 else say("no melt")
        for size in drawing.sizes_at(moment)
    ]


def pictures(
    session: Session, welds: Sequence[Shown], histories: Sequence[WeldHistory]
) -> list[str]:
    """Return the sections at the end of the weld as SVG, for paper."""
    found = []
    for drawing in _drawings(welds, histories):
        last = drawing.moments - 1
        found.append(still(drawing, last, _sizes(session, drawing, last)))
    return found


def curves(
    session: Session, welds: Sequence[Shown], histories: Sequence[WeldHistory], key: str, title: str
) -> None:
    """Draw size and resistance against time, with their figures and files."""
    unit = session.units.unit("diameter")
    rows = pd.DataFrame(growth([each.name for each in welds], histories))
    named = {shown.name: shown for shown in welds}
    rows["curve"] = [
        _curve_name(named[weld], interface - 1)
        for weld, interface in zip(rows["weld"], rows["interface"], strict=True)
    ]
    rows["size"] = [from_inner("diameter", size, unit) for size in rows["size_mm"]]
    minima = pd.DataFrame(
        {"weld": _curve_name(shown, n), "size": from_inner("diameter", least, unit)}
        for shown in welds
        for n, least in enumerate(shown.minima_mm)
    )
    plotted = rows.rename(columns={"time_ms": "time", "resistance_uohm": "resistance"})
    sized = plotted[["curve", "time", "size"]].rename(columns={"curve": "weld"})
    mark = mark_of(session)
    downloads(
        partial(growth_chart, sized, minima, label(unit), _names(welds)),
        lambda: _curve_table(plotted, "size", label(unit)),
        f"{title}-size",
        f"{key}-growth",
        title=say("{title}: size of the melt against time", title=title),
        mark=mark,
    )
    first = plotted[plotted["interface"] == 1].dropna(subset="resistance")
    downloads(
        partial(
            resistance_chart,
            first[["weld", "time", "resistance"]],
            [each.name for each in welds],
        ),
        lambda: _curve_table(plotted, "resistance", "µΩ"),
        f"{title}-resistance",
        f"{key}-resistance",
        title=say("{title}: resistance from cap to cap against time", title=title),
        mark=mark,
    )


def _curve_name(shown: Shown, interface: int) -> str:
    return shown.name if len(shown.minima_mm) == 1 else f"{shown.name} {interface + 1}"


def _names(welds: Sequence[Shown]) -> list[str]:
    """Return what each weld and interface is called, in order."""
    return [_curve_name(shown, n) for shown in welds for n in range(len(shown.minima_mm))]


def _curve_table(rows: pd.DataFrame, quantity: str, unit: str) -> pd.DataFrame:
    heads = {"size": msg("size [{unit}]"), "resistance": msg("resistance [{unit}]")}
    return rows[["curve", "time", quantity]].set_axis(
        [say("weld"), say("time [ms]"), say(heads[quantity], unit=unit)], axis=1
    )


def heads(welds: Sequence[Shown]) -> list[str]:
    """Return the heads of the table of figures: one a weld and interface."""
    has_more = any(len(each.minima_mm) > 1 for each in welds)
    first = say("Weld, interface") if has_more else say("Weld")
    return [first, *_names(welds)]


def lines(
    session: Session, welds: Sequence[Shown], histories: Sequence[WeldHistory]
) -> list[list[str]]:
    """Return the table of figures, one line a quantity: so two welds fit a phone."""
    unit = label(session.units.unit("diameter"))
    words = [
        say("Size [{unit}]", unit=unit),
        say("Minimum [{unit}]", unit=unit),
        say("Against the minimum"),
        say("First melt [ms]"),
        say("Hottest [°C]"),
        say("Expulsion [ms]"),
    ]
    columns = [
        column
        for shown, history in zip(welds, histories, strict=True)
        for column in _columns(session, shown, history)
    ]
    return [list(line) for line in zip(words, *columns, strict=True)]


def _columns(session: Session, shown: Shown, history: WeldHistory) -> list[list[str]]:
    """Return the figures of one weld, a column an interface, top to bottom."""
    thrown, found = history.expulsion, []
    for number, each in enumerate(figures(shown, history)):
        found.append(
            [
                _length(session, each.size_mm),
                _length(session, each.minimum_mm),
                _against(is_large_enough=each.is_large_enough, is_out=thrown is not None),
                _whole(each.first_melt_ms),
                _whole(history.hottest_degC),
                _whole(thrown.time_ms if thrown and thrown.interface == number else None),
            ]
        )
    return found


def _length(session: Session, value_mm: float) -> str:
    return session.units.split("diameter", value_mm, NO_CALIBRATION)[0]


def _against(*, is_large_enough: bool, is_out: bool) -> str:
    """Say what size proves: nothing, where metal was thrown out, whatever it comes to."""
    if not is_large_enough:
        return say("too small")
    return say("large enough, but expulsion") if is_out else say("large enough")


def _whole(value: float | None) -> str:
    return "–" if value is None else figure(value, ".0f")


def figures_table(
    session: Session, welds: Sequence[Shown], histories: Sequence[WeldHistory]
) -> None:
    """Draw the table of figures and what the model leaves out."""
    found = pd.DataFrame(lines(session, welds, histories), columns=heads(welds))
    table = table_html(found, say("Size of each weld and what became of it"))
    st.html(f'<div class="weld-figures">{table}</div>{_TABLE_STYLE}')
    notes = dict.fromkeys(
        note for history in histories for note in (*history.notes, *_thrown(history))
    )
    for note in notes:
        st.caption(plain(note))


def _thrown(history: WeldHistory) -> list[str]:
    if history.expulsion is None:
        return []
    return [say("Expulsion: {reason}.", reason=say(history.expulsion.reason))]
