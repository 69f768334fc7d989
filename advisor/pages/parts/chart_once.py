"""A chart written out once: what it takes to draw one is known, and drawing it takes long.

A page is run anew at every touch, and to put a chart together and check it against its schema takes
20 to 60 ms. A chart follows from what it is made of and from the language spoken alone, so it is
made once for all who look at the same figures.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from typing import Any

import altair as alt
import pandas as pd
import streamlit as st

from advisor.language import language
from advisor.pages.parts.charts import Chart

#: A chart, or the function that makes it with all that it is made of.
Drawing = Chart | partial[Chart]


@dataclass(frozen=True)
class Written:
    """A chart and what the browser is sent of it.

    Parameters
    ----------
    chart : Chart
        The chart itself; not to be changed.
    spec : mapping
        The chart as Vega-Lite writes it, without its figures.
    frames : mapping of str to DataFrame
        Its figures by the names under which the spec asks for them.
    """

    chart: Chart
    spec: Mapping[str, Any]
    frames: Mapping[str, pd.DataFrame]

    def draw(self, key: str, alt_text: str) -> None:
        """Draw it, as wide as its place.

        Parameters
        ----------
        key : str
            Of the chart on its page.
        alt_text : str
            The chart in a sentence.
        """
        # Streamlit takes the figures out of what it is given.
        whole = {**self.spec, "datasets": dict(self.frames)}
        st.vega_lite_chart(whole, width="stretch", key=key, alt=alt_text)


def written(drawing: Drawing) -> Written:
    """Return a chart written out; for a function and what it is given, as made before.

    Parameters
    ----------
    drawing : Chart or partial
        The chart, or the function that makes it, which depends on nothing but what it is given and
        the language.
    """
    if not isinstance(drawing, partial):
        return _write(drawing)
    made_of = (drawing.func.__module__, drawing.func.__qualname__, drawing.args, drawing.keywords)
    return _made(sha256(pickle.dumps(made_of)).hexdigest(), language(), drawing)


@st.cache_resource(max_entries=200, show_spinner=False)
def _made(of: str, code: str, _drawing: partial[Chart]) -> Written:
    return _write(_drawing())


def _write(chart: Chart) -> Written:
    frames: dict[int, pd.DataFrame] = {}

    def named(frame: pd.DataFrame) -> alt.NamedData:
        frames[id(frame)] = frame
        return alt.NamedData(_name(id(frame)))

    spec = with_data(chart, named).to_dict()
    figures = {name: pd.DataFrame(rows) for name, rows in spec.pop("datasets", {}).items()}
    return Written(chart, spec, figures | {_name(of): frame for of, frame in frames.items()})


def with_data(chart: Chart, data: Callable[[pd.DataFrame], alt.Data]) -> Chart:
    """Return a chart with other data in place of its frames and those of its layers.

    Parameters
    ----------
    chart : Chart
        Stays as it is.
    data : callable
        Returns what stands in place of a frame.
    """
    found = chart.copy()
    _replace(found, data)
    return found


def _replace(chart: Any, data: Callable[[pd.DataFrame], alt.Data]) -> None:
    if isinstance(chart.data, pd.DataFrame):
        chart.data = data(chart.data)
    for each in chart.layer if isinstance(chart, alt.LayerChart) else ():
        _replace(each, data)


def _name(of: int) -> str:
    return f"figures-{of}"
