"""What the charts of a page say that no catalogue has translated."""

import json
import re

import said_texts
from streamlit.dataframe_util import convert_arrow_bytes_to_pandas_df

#: Keys of a chart's description under which words stand that people read; columns that hold some.
_READ = {"title", "text", "subtitle"}
_COLUMNS = {"words", "what", "told", "reading", "count", "standing", "signal", "day"}
_MONTH = re.compile(r"^(?:\d+ )?[^\W\d]+\.?,? \d+(?=:|$)")


def unsaid(app, *names):
    """Return every text of a page, and of its charts, outside of ⟦⟧; names are nobody's words."""
    shown = [*said_texts.unsaid(app), *_of_charts(app)]
    return sorted({text for text in shown if is_left(text, *names)})


def is_left(text, *names):
    """Return whether letters stand outside of every pair of brackets."""
    text = _MONTH.sub("", text)
    for name in names:
        text = re.sub(rf"\b{name}\b", "", text)
    return bool(said_texts._LETTERS.search(said_texts._rest(text)))


def _of_charts(app):
    for chart in app.get("vega_lite_chart"):
        yield chart.proto.alt
        spec = json.loads(chart.proto.spec)
        yield from _words(spec)
        frames = {
            each.name: convert_arrow_bytes_to_pandas_df(each.data.data)
            for each in chart.proto.datasets
        }
        for name, column in _columns(spec):
            yield from frames[name][column].dropna().astype(str)


def _words(spec, key=""):
    if isinstance(spec, dict):
        for name, value in spec.items():
            yield from _words(value, name)
    elif isinstance(spec, list):
        for value in spec:
            yield from _words(value, key)
    elif isinstance(spec, str) and key in _READ:
        yield spec


def _columns(spec, above=None):
    """Return data and column of each text and tooltip that shows words."""
    data = spec.get("data", above)
    for layer in spec.get("layer", ()):
        yield from _columns(layer, data)
    encoding = spec.get("encoding", {})
    tips = encoding.get("tooltip", [])
    for each in [encoding.get("text", {}), *(tips if isinstance(tips, list) else [tips])]:
        if each.get("field") in _COLUMNS and each["type"] == "nominal":
            yield data["name"], each["field"]
