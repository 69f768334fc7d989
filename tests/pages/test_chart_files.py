"""A chart as a file: whole, marked, made without a network, and its figures as text."""

import csv
import io
import json
import socket
import xml.etree.ElementTree as ET

import altair as alt
import pandas as pd
import pytest
from chart_makers import every_chart, rate_table
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from streamlit.testing.v1 import AppTest

from advisor.csv_cells import unguarded
from advisor.pages.parts import chart_files
from advisor.pages.parts.chart_files import (
    FOLDED,
    MOST_ROWS,
    SCALE,
    WIDTH_PX,
    About,
    file_stem,
    table_html,
    to_csv,
    to_png,
    to_svg,
)

CHARTS = every_chart()
ABOUT = About("Pass rate by welder", "2 Mar to 30 Mar 2026", "PRACTICE COPY")
FORMULAS = ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "\t=1", "＝1"]


def texts(svg):
    """Return every text of a drawing, which has to be one."""
    root = ET.fromstring(svg)  # noqa: S314 our own drawing
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    return [each.text for each in root.iter() if each.text and each.text.strip()]


@pytest.mark.parametrize("name", CHARTS)
def test_an_svg_holds_title_axes_counts_period_and_mark(name):
    chart, words = CHARTS[name]
    found = texts(to_svg(chart, ABOUT))
    assert ABOUT.title in found
    assert ABOUT.mark in found
    assert " · ".join((ABOUT.title, ABOUT.period, ABOUT.mark)) in found
    assert any(words.split(" [")[0] in each for each in found)


@pytest.mark.parametrize("name", ["rates", "pareto", "individuals"])
def test_a_png_is_twice_as_large_and_on_white(name):
    with Image.open(io.BytesIO(to_png(CHARTS[name][0], ABOUT))) as image:
        assert image.format == "PNG"
        assert WIDTH_PX * SCALE < image.width < (WIDTH_PX + 150) * SCALE
        corners = [(0, 0), (image.width - 1, image.height - 1)]
        assert {image.convert("RGB").getpixel(each) for each in corners} == {(255, 255, 255)}


def test_no_mark_is_no_line():
    found = texts(to_svg(CHARTS["rates"][0], About("Pass rate by welder")))
    assert found.count("Pass rate by welder") == 2  # title and foot
    assert not any("PRACTICE" in each for each in found)


def test_a_long_title_is_broken_and_not_cut():
    long = "Pass rate of " + "a machine of a very long name " * 6
    found = texts(to_svg(CHARTS["rates"][0], About(long)))
    assert long.split()[-1] in " ".join(found)


def test_names_are_shown_and_never_run():
    svg = to_svg(CHARTS["rates"][0], About("<script>alert(1)</script>"))
    assert b"<script" not in svg
    assert "<b>Lee</b>" in texts(svg)


def test_streamlit_s_own_way_with_frames_does_not_reach_a_file():
    expected = to_svg(CHARTS["individuals"][0], ABOUT)
    alt.data_transformers.register("nothing", lambda data, **_: {"name": "elsewhere"})
    with alt.data_transformers.enable("nothing"):
        assert to_svg(CHARTS["individuals"][0], ABOUT) == expected


def test_conversion_opens_no_socket(monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", refuse)
    assert to_svg(CHARTS["rates"][0], ABOUT)
    assert to_png(CHARTS["rates"][0], ABOUT)


@pytest.mark.parametrize("make", [to_svg, to_png])
def test_an_address_in_a_chart_is_refused_and_nobody_is_asked(make):
    with socket.socket() as nobody:  # bound and not listening: to ask would fail in another way
        nobody.bind(("127.0.0.1", 0))
        address = f"http://127.0.0.1:{nobody.getsockname()[1]}/data.json"
        chart = alt.layer(alt.Chart(alt.UrlData(url=address)).mark_point().encode(alt.X("a:Q")))
        with pytest.raises(ValueError, match="External data url not allowed"):
            make(chart, ABOUT)


def test_a_csv_comes_back_as_it_was():
    data = pd.DataFrame({"welder": ["Sam", "Kim"], "rate [%]": [71.123456789, None], "n": [3, 4]})
    back = pd.read_csv(io.BytesIO(to_csv(data, "DEMO")))
    assert list(back.columns) == ["welder", "rate [%]", "n", "mark"]
    assert list(back["mark"]) == ["DEMO", "DEMO"]
    pd.testing.assert_frame_equal(
        back.drop(columns="mark"), data, check_dtype=False, check_exact=True
    )
    assert "mark" not in pd.read_csv(io.BytesIO(to_csv(data))).columns


@pytest.mark.parametrize("formula", FORMULAS)
def test_no_cell_and_no_heading_is_a_formula(formula):
    data = pd.DataFrame({formula: [formula], "loss": [-0.5]})
    lines = to_csv(data, formula).decode()
    back = pd.read_csv(io.StringIO(lines), keep_default_na=False)
    assert back.columns[0] == "'" + formula
    assert list(back.iloc[0]) == ["'" + formula, -0.5, "'" + formula]


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=1, max_size=4))
def test_every_text_comes_back(words):
    rows = list(csv.reader(io.StringIO(to_csv(pd.DataFrame({"a": words})).decode(), newline="")))
    assert [unguarded(row[0]) if row else "" for row in rows[1:]] == words


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("pass-rates", "pass-rates"),
        ("../../etc/passwd", "etc-passwd"),
        ("Sam's <gun> ½", "Sam-s-gun"),
        ("...", "chart"),
        ("", "chart"),
        ("x" * 300, "x" * 80),
    ],
)
def test_a_file_s_name_is_one_on_every_computer(name, stem):
    assert file_stem(name) == stem


def test_the_table_is_rounded_escaped_and_counted():
    data = pd.DataFrame({"<i>": ["<b>Lee</b>"] * 300, "rate [%]": 71.123456789})
    html = table_html(data, "Pass rate <all>")
    assert "<b>" not in html
    assert "&lt;b&gt;Lee&lt;/b&gt;" in html
    assert "<td>71.12</td>" in html
    assert html.count("<tr>") == MOST_ROWS + 1
    assert f"the first {MOST_ROWS} of 300 rows" in html
    assert '<th scope="col">rate [%]</th>' in html


SCRIPT = """
from chart_makers import every_chart, rate_table
from advisor.pages.parts.chart_files import downloads
downloads(every_chart()["rates"][0], rate_table(), "pass rates", "rates",
    title="Pass rate by welder", period="March 2026", mark="DEMO")
"""


@pytest.fixture
def conversions(monkeypatch):
    made = []
    for name in ("to_svg", "to_png", "to_csv"):
        monkeypatch.setattr(chart_files, name, lambda *_, n=name: made.append(n) or b"")
    return made


def test_a_chart_has_its_words_and_nothing_is_made_before_it_is_asked_for(conversions):
    app = AppTest.from_string(SCRIPT, default_timeout=30).run()
    assert not app.exception
    (chart,) = app.get("vega_lite_chart")
    assert chart.proto.alt == (
        "Pass rate by welder · March 2026 · DEMO. The figures stand below under Data and files."
    )
    assert [each.label for each in app.expander] == [FOLDED]
    assert not app.get("download_button")
    assert not any("<table" in each.proto.body for each in app.get("html"))
    assert conversions == []


def test_unfolded_it_has_the_figures_and_three_files_that_wait(conversions):
    app = AppTest.from_string(SCRIPT, default_timeout=30)
    app.session_state["rates-files"] = True
    app.run()
    assert not app.exception
    assert [each.proto.label for each in app.get("download_button")] == ["SVG", "PNG", "CSV"]
    assert all(each.proto.deferred_file_id for each in app.get("download_button"))
    (table,) = (each for each in app.get("html") if "<table" in each.proto.body)
    for words in rate_table()["standing"]:
        assert words in table.proto.body
    assert conversions == []


def test_the_chart_on_the_page_has_no_address(conversions):
    app = AppTest.from_string(SCRIPT, default_timeout=30).run()
    (chart,) = app.get("vega_lite_chart")
    assert "url" not in json.dumps(json.loads(chart.proto.spec).get("data", {}))
