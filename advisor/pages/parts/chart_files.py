"""A chart with what stands behind it: its figures as a table, and the chart as a file.

Nothing is converted before somebody asks for a file. Conversion happens on this computer with
bundled fonts; addresses in a chart are refused, so that nothing leaves.
"""

from __future__ import annotations

import csv
import io
import math
import re
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

import altair as alt
import pandas as pd
import streamlit as st
import vl_convert

from advisor.csv_cells import guarded
from advisor.language import ENGLISH, figure, language, msg, say, speaking
from advisor.pages.parts.chart_once import Drawing, with_data, written
from advisor.pages.parts.charts import Chart
from advisor.pages.parts.palette import PAPER_INK, on_paper
from advisor.pages.parts.plain import closed

FOLDED = msg("Data and files")
#: Figures of a chart, or what makes them in the language that is spoken when it is called.
Figures = pd.DataFrame | Callable[[], pd.DataFrame]
#: Width of a chart in a file; height is the chart's own. Letters of its title in a line. [px]
WIDTH_PX, SCALE = 640, 2
_LETTERS = 64
#: Rows shown; the CSV holds all. Choice of this project: what one scrolls through.
MOST_ROWS = 200
_SCHEMA = "$schema"
#: Streamlit's own files of a chart know neither title nor mark, and its own table no formula.
_OURS_ONLY = """
<style>
[class*="st-key-chart-of-"] button[aria-label^="Download as PNG"],
[class*="st-key-chart-of-"] button[aria-label^="Show data"],
[class*="st-key-chart-of-"] button[aria-label^="Copy Vega-Lite spec"] { display: none; }
</style>
"""


@dataclass(frozen=True)
class About:
    """What a file says of itself.

    Parameters
    ----------
    title : str
        What is shown.
    period : str
        Of which days.
    mark : str
        Set where the shop is invented or a practice copy, as a message for `say`; in every file.
    """

    title: str
    period: str = ""
    mark: str = ""

    @property
    def foot(self) -> str:
        """Everything in one line."""
        return " · ".join(part for part in (self.title, self.period, self.mark_words) if part)

    @property
    def mark_words(self) -> str:
        """The mark as it is read."""
        return say(self.mark) if self.mark else ""


def downloads(
    drawing: Drawing,
    data: Figures,
    name: str,
    key: str,
    *,
    title: str,
    period: str = "",
    mark: str = "",
    alt_text: str = "",
) -> None:
    """Draw a chart, and folded below it its figures and files.

    Parameters
    ----------
    drawing : Chart or partial
        The chart; its data are frames or inline, and every field names its type. Or the function
        that makes it and what it is given, which is then made once.
    data : DataFrame or callable
        What the chart shows, units in the names of its columns. Where words are in it, what makes
        it in the language that is spoken: the CSV is English.
    name : str
        Name of the files, without ending.
    key : str
        Of this chart on its page.
    title, period, mark : str
        As for `About`.
    alt_text : str
        The chart in a sentence, for who does not see it; the title when left out.
    """
    about = About(title, period, mark)
    alt_text = say(
        "{chart}. The figures stand below under {place}.",
        chart=closed(alt_text or about.foot),
        place=say(FOLDED),
    )
    st.html(_OURS_ONLY)
    chart = written(drawing)
    with st.container(key=f"chart-of-{key}"):
        chart.draw(f"{key}-chart", alt_text)
    _folded(chart.chart, data, file_stem(name), key, about)


@st.fragment
def _folded(chart: Chart, data: Figures, stem: str, key: str, about: About) -> None:
    with st.expander(say(FOLDED), key=f"{key}-files", on_change="rerun") as part:
        if not part.open:
            return
        st.html(table_html(_made(data), about.title))
        with st.container(horizontal=True, key=f"{key}-buttons"):
            for kind, mime, make in _files(chart, _in_english(data), about):
                st.download_button(
                    kind.upper(),
                    data=make,
                    file_name=f"{stem}.{kind}",
                    mime=mime,
                    on_click="ignore",
                    key=f"{key}-{kind}",
                )


def _made(data: Figures) -> pd.DataFrame:
    return data if isinstance(data, pd.DataFrame) else data()


def _in_english(data: Figures) -> pd.DataFrame:
    with speaking(ENGLISH):
        return _made(data)


def _files(
    chart: Chart, data: pd.DataFrame, about: About
) -> tuple[tuple[str, str, Callable[[], bytes]], ...]:
    spoken = language()
    return (
        ("svg", "image/svg+xml", _said_in(spoken, lambda: to_svg(chart, about))),
        ("png", "image/png", _said_in(spoken, lambda: to_png(chart, about))),
        ("csv", "text/csv", lambda: to_csv(data, about.mark)),
    )


def _said_in(code: str, make: Callable[[], bytes]) -> Callable[[], bytes]:
    """Return what makes a file later, when nobody is there to be asked for a language."""

    def made() -> bytes:
        with speaking(code):
            return make()

    return made


def file_stem(name: str) -> str:
    """Return a name that every computer takes for a file."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-.")[:80].rstrip("-.") or "chart"


def to_svg(chart: Chart, about: About) -> bytes:
    """Return a chart as SVG, UTF-8.

    Parameters
    ----------
    chart : Chart
        As for `downloads`.
    about : About
        What the file says of itself.
    """
    return vl_convert.vegalite_to_svg(file_spec(chart, about), allowed_base_urls=[]).encode()


def to_png(chart: Chart, about: About) -> bytes:
    """Return a chart as PNG at twice its size; parameters as for `to_svg`."""
    spec = file_spec(chart, about)
    return vl_convert.vegalite_to_png(spec, scale=SCALE, allowed_base_urls=[])


def file_spec(chart: Chart, about: About) -> dict[str, Any]:
    """Return a chart on white, with its title above and a line of what it is below."""
    spec: dict[str, Any] = on_paper(_inline(chart).to_dict())
    outer = {each: spec.pop(each) for each in (_SCHEMA, "config", "datasets") if each in spec}
    spec.pop("autosize", None)
    key = spec.get("title", {}).get("text", [])
    spec["title"] = {
        "text": [*([about.mark_words] if about.mark else []), *_lines(about.title)],
        "subtitle": key,
        "anchor": "start",
        "fontSize": 16,
        "subtitleFontSize": 12,
        "color": PAPER_INK,
        "offset": 12,
    }
    foot = {"text": _lines(about.foot), "orient": "bottom", "anchor": "start", "fontSize": 10}
    return outer | {
        "vconcat": [spec | {"width": WIDTH_PX}],
        "title": foot | {"fontWeight": "normal", "color": PAPER_INK},
        "background": "white",
        "padding": 16,
    }


def _lines(text: str) -> list[str]:
    return textwrap.wrap(text, _LETTERS) or [""]


def _inline(chart: Chart) -> Chart:
    """Return a chart whose frames are written out.

    How Altair turns frames into text is one setting for all threads, and Streamlit sets it
    otherwise while it draws a page; what is written out already does not ask for it.
    """
    return with_data(chart, lambda frame: alt.InlineData(values=alt.to_values(frame)["values"]))


def to_csv(data: pd.DataFrame, mark: str = "") -> bytes:
    """Return a table as CSV, UTF-8, guarded against spreadsheets that calculate.

    Parameters
    ----------
    data : DataFrame
        Figures are written in full; what is missing is empty.
    mark : str
        Goes into a column of its own, ``mark``, in every row, in English as all else here; no
        such column when empty.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    marked = [mark] if mark else []
    writer.writerow([guarded(str(name)) for name in data.columns] + ["mark"] * len(marked))
    for row in data.itertuples(index=False):
        writer.writerow([guarded(_cell(value)) for value in (*row, *marked)])
    return text.getvalue().encode("utf-8", "backslashreplace")


def _cell(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)) or value is pd.NaT:
        return ""
    return value.isoformat() if isinstance(value, pd.Timestamp) else str(value)


def table_html(data: pd.DataFrame, caption: str) -> str:
    """Return a table as HTML that is read aloud and scrolled by key, figures rounded.

    Parameters
    ----------
    data : DataFrame
        At most 200 rows are shown, and the rest is counted.
    caption : str
        What it is.
    """
    shown = data.head(MOST_ROWS)
    caption = escape(closed(caption))
    if len(data) > MOST_ROWS:
        caption = say(
            "{table}; the first {shown} of {all} rows, the CSV holds all",
            table=caption,
            shown=MOST_ROWS,
            all=len(data),
        )
    heads = "".join(f'<th scope="col">{escape(str(name))}</th>' for name in data.columns)
    rows = "".join(
        "<tr>" + "".join(f"<td>{_shown(value)}</td>" for value in row) + "</tr>"
        for row in shown.itertuples(index=False)
    )
    return (
        f'<div class="figures" tabindex="0" role="region" aria-label="{caption}"><table>'
        f"<caption>{caption}</caption><thead><tr>{heads}</tr></thead>"
        f"<tbody>{rows}</tbody></table></div>"
    )


def _shown(value: object) -> str:
    """Return a cell for the eye: figures with four digits, moments to the minute."""
    if isinstance(value, float) and math.isfinite(value):
        return figure(value, ".4g") if abs(value) < 10_000 else figure(value, ".0f")
    if isinstance(value, pd.Timestamp) and not pd.isna(value):
        return figure(value, "%d %b %Y %H:%M")
    return escape(closed(_cell(value)))
