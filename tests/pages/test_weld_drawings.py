"""Sections through welds and charts of them: what is drawn, on which ground, and in which words."""

import numpy as np
import pandas as pd
import pytest
import vl_convert
from test_palette import contrast

from advisor.heat.parameters import Options
from advisor.pages.parts.charts import start_against_thickness
from advisor.pages.parts.palette import DARK, LIGHT, on_paper, on_white
from advisor.pages.parts.weld_charts import window_chart
from advisor.pages.parts.weld_legend import legend
from advisor.pages.parts.weld_picture import BANDS, WeldDrawing, playing, still
from advisor.teaching.lessons import lesson

COARSE = Options(fineness=0.5, steps=60)


@pytest.fixture(scope="module")
def drawing():
    shown = lesson("three").welds[0]
    return WeldDrawing("A <b>", shown.stack, shown.electrode, shown.run(COARSE))


def test_a_section_is_to_scale_and_says_what_it_is(drawing):
    svg = still(drawing, drawing.moments - 1, ["4.9 mm", "5.8 mm"])
    assert svg.count("<text") == 4  # two sizes, the scale, the time
    assert 'role="img"' in svg
    assert "A &lt;b&gt;" in svg
    assert "<b>" not in svg
    assert "var(--" in svg
    assert "var(--" not in on_white(svg)
    words = legend()
    assert all(each in words for _, each in BANDS)


def test_a_face_under_a_cap_is_drawn_colder_than_its_first_layer_and_never_below_the_room(drawing):
    """Else a layer that is just below the end of a band ends in a step beside the cap."""
    across, down, warm = drawing.field(drawing.moments - 1)
    middle = np.abs(across).argmin()
    assert list(down) == sorted(down)
    for face, first, second in ((0, 1, 2), (-1, -2, -3)):
        assert (warm[face] <= warm[first]).all()
        assert warm[face].min() >= 20
        slope = (warm[second, middle] - warm[first, middle]) / abs(down[second] - down[first])
        expected = warm[first, middle] - slope * abs(down[first] - down[face])
        assert warm[face, middle] == pytest.approx(expected)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_words_of_a_section_can_be_read_and_lines_on_metal_too(colours):
    assert contrast(colours["drawn"], colours["panel"]) >= 4.5
    for metal in ("steel", "copper", "heat-1", "heat-2", "heat-3"):
        assert contrast(colours["on-steel"], colours[metal]) >= 4.5, metal
    assert contrast(colours["on-steel"], colours["heat-4"]) >= 3
    assert contrast(colours["steel"], colours["heat-5"]) >= 4.5  # behind the arrow in the melt


def test_a_section_on_paper_stays_dark_on_light(drawing):
    printed = on_white(still(drawing, drawing.moments - 1, ["4.9 mm", "5.8 mm"]))
    assert LIGHT["drawn"] in printed
    assert DARK["drawn"] not in printed
    assert DARK["panel"] not in printed


def test_the_legend_explains_bands_and_lines():
    words = legend()
    for each in (
        "melt, above 1530 °C",
        "edge of the melt now",
        "its largest so far",
        "face with zinc",
    ):
        assert each in words


def test_the_signs_of_the_legend_of_the_starts_have_whole_outlines_and_dark_words():
    """Vega draws the symbols of a legend with the dashes of a scale of dashes."""
    curves = pd.DataFrame(
        {"stack": ["A", "B"], "thickness": [1, 2], "low": [1, 2], "start": [2, 3], "high": [3, 4]}
    )
    chart = start_against_thickness(curves, curves, "mm", "weld current [kA]")
    spec = vl_convert.vegalite_to_vega(on_paper(chart.to_dict()))
    (shown,) = spec["legends"]
    assert "strokeDash" not in shown
    assert shown["labelColor"] == LIGHT["ink"]
    named = [each for each in spec["axes"] if "title" in each]
    assert len(named) == 2
    assert {each["labelColor"] for each in named} == {LIGHT["ink"]}


def test_melt_is_drawn_when_there_is_some_and_stays_outlined_when_it_has_frozen(drawing):
    first, last = still(drawing, 0, ["–", "–"]), still(drawing, drawing.moments - 1, ["–", "–"])
    assert "heat-5" not in first
    assert "heat-5" in last
    assert "stroke-dasharray" in last


def test_a_moving_section_is_small_has_no_script_and_stands_still_for_who_wants_that(drawing):
    svg, style = playing(drawing, [["–", "–"]] * drawing.moments)
    assert len(svg) < 400_000
    assert svg.count("animation-delay") == drawing.moments
    assert "prefers-reduced-motion" in style
    assert "<script" not in svg + style


@pytest.mark.parametrize("out", [np.nan, 5.0, 9.0])
def test_a_window_without_any_room_is_still_drawn(out):
    rooms = pd.DataFrame(
        {"time": ["100 ms"], "lowest": [np.nan], "highest": [np.nan], "out": [out]}
    )
    spec = window_chart(rooms, (5.0, 9.0), "kA").to_dict()
    words = [each for each in spec["layer"] if each["mark"]["type"] == "text"]
    placed = spec["datasets"][words[0]["data"]["name"]][0]["at"]
    assert 5 < placed < 9
    assert np.isnan(out) or abs(placed - out) >= 2
