"""Weld layout: what is missing is named, nothing typed is lost, the drawing is to scale."""

import json
import math
from itertools import pairwise

import pytest
from page_helpers import box, html, stack, tables, told
from streamlit.testing.v1 import AppTest

from advisor.coupons.joint import Joint
from advisor.pages.parts.flange import drawing, strips_mm
from advisor.weld.layout import propose
from advisor.weld.layout_flange import Flange, Needs, evenly

PAGE = """
from advisor.pages.shell import run
run("layout")
"""
#: Seven welds of 40 mm pitch: 30 to 270 of 300 mm.
TYPED = {
    "Length": 300.0,
    "Width": 16.0,
    "Row from edge": 8.0,
    "Number of welds": 7,
    "Pitch": 40.0,
    "First from end": 30.0,
}


@pytest.fixture
def database():
    """A layout does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def page(log):
    log.save_joint(Joint("sill", "RO-1", stack(0.8, 1.0), "Bay gun"), "Sam")
    app = AppTest.from_string(PAGE, default_timeout=30).run()
    assert not app.exception
    return app


def fill(app, **changes):
    for words, value in (TYPED | {key.replace("_", " "): v for key, v in changes.items()}).items():
        box(app, words).set_value(value)
    app.run()
    assert not app.exception


def to_list(app, text):
    next(g for g in app.button_group if g.label == "Given as").set_value("a list of places").run()
    app.text_area[0].set_value(text).run()
    assert not app.exception


def charts(app):
    return [json.loads(e.proto.spec) for e in app.get("vega_lite_chart")]


def test_an_empty_page_names_all_that_is_missing_and_who_comes_first(page):
    first, missing = told(page)
    assert first.startswith("The vehicle maker's procedure says how many welds go where")
    assert "Weld only a joint that is covered by passing coupons" in first
    assert missing == (
        "Still needed: length of the flange, width of the flange, distance of the row from the "
        "edge, number of welds, pitch, place of the first weld."
    )


def test_a_filled_page_gives_places_reason_and_what_was_kept_to(page):
    fill(page)
    # 3 + 3 + 1 = 7 mm beside sites of 6 mm; up or down is the same on a row in the middle.
    table = tables(page)[0]
    assert [row["old place [mm]"] for row in table] == [f"{30 + 40 * n:.1f}" for n in range(7)]
    assert {row["shift [mm]"] for row in table} in ({"+7.0"}, {"-7.0"})
    said = html(page)
    assert "The whole row moves 7.0 mm towards" in said
    assert "RO-1 · sill · 0.80 mm + 1.00 mm" in said
    assert "at least 5.6 mm from every edge" in said
    assert [b.label for b in page.get("download_button")] == ["Places as CSV"]


def test_the_joint_gives_number_pitch_and_the_caps_of_its_machine(log):
    log.save_joint(
        Joint("pillar", "RO-1", stack(1.0, 1.0), "Bay gun", None, welds=5, pitch_mm=45.0), "Sam"
    )
    app = AppTest.from_string(PAGE, default_timeout=30).run()
    assert [box(app, words).value for words in ("Number of", "Pitch", "Electrode")] == [5, 45, 6]


def test_a_stack_of_its_own_needs_its_thicknesses(page):
    joint = next(s for s in page.selectbox if s.label == "For which joint?")
    joint.select_index(1).run()
    fill(page)
    assert not tables(page)
    box(page, "Sheet 1").set_value(0.8)
    box(page, "Sheet 2").set_value(0.8).run()
    assert len(tables(page)[0]) == 7


def test_places_can_be_a_list_with_sizes(page):
    fill(page)
    to_list(page, "30; 70/12; 110")
    assert [row["old place [mm]"] for row in tables(page)[0]] == ["30.0", "70.0", "110.0"]
    assert "welds 1–2" in html(page)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"Width": 9.0}, "mm wide and 11.2 mm is needed"),
        ({"Length": 250.0}, "original weld 7 is at 270 mm; the flange goes from 0 to 250 mm"),
        ({"Row from edge": 20.0}, "the row is 20 mm from the edge of a flange 16 mm wide"),
        ({"Pitch": 3.0}, "pitch of the original welds is 3 mm; it must be 5 to 500 mm"),
        ({"Number of welds": 0}, "number of original welds is 0; it must be 1 to 200"),
    ],
)
def test_what_cannot_be_is_told_and_everything_typed_stays(page, changes, words):
    fill(page, **changes)
    assert [text for text in told(page) if words in text]
    assert not tables(page)
    now = {words: box(page, words).value for words in TYPED}
    assert now == TYPED | changes


def test_a_place_that_cannot_be_read_is_told_and_stays_with_all_the_rest(page):
    fill(page)
    box(page, "Clearance").set_value(1.5).run()
    to_list(page, "30; seventy")
    assert any("'seventy'; it must be a number" in text for text in told(page))
    assert page.text_area[0].value == "30; seventy"
    assert box(page, "Clearance").value == 1.5
    to_list(page, "  ")
    assert "Still needed: places of the original welds." in told(page)


def test_the_page_follows_the_person_s_units(log):
    log.save_joint(Joint("sill", "RO-1", stack(0.8, 1.0), "Bay gun"), "Sam")
    log.save_preferences("Sam", {"unit_length": "in"})
    app = AppTest.from_string(PAGE, default_timeout=30).run()
    inches = {"Length": 12.0, "Width": 0.7, "Row from edge": 0.35, "Number of welds": 5}
    inches |= {"Pitch": 2.0, "First from end": 2.0}
    for words, value in inches.items():
        box(app, words).set_value(value)
    app.run()
    table = tables(app)[0]
    # 7 mm = 0.276 in
    assert {row["shift [in]"] for row in table} in ({"+0.276"}, {"-0.276"})
    assert "moves 0.276 in" in html(app)
    assert charts(app)[0]["layer"][0]["encoding"]["x"]["scale"]["domain"][0] == 0
    assert app.get("vega_lite_chart")[0].proto.alt.startswith(
        "Scaled drawing of the flange, 12.000 in by 0.700 in."
    )


# --- the drawing --------------------------------------------------------------------------------


def laid_out(number=8, length=410.0):
    needs = Needs(weld_mm=6, clearance_mm=1, edge_mm=6, spacing_mm=13)
    return propose(Flange(length, 20, 9, evenly(number, 40, 45, 8)), needs)


def frame_of(chart, layer):
    return chart.layer[layer].data


def test_a_pixel_is_as_many_mm_up_as_along():
    chart = drawing(laid_out(), (0, 150), 150, "mm").to_dict()
    scale = chart["layer"][0]["encoding"]["y"]["scale"]
    along = chart["layer"][0]["encoding"]["x"]["scale"]["domain"]
    for width, height in ((300, 150), (700, 190)):
        low, high = (
            eval(scale[end]["expr"], {"width": width, "height": height})  # noqa: S307
            for end in ("domainMin", "domainMax")
        )
        assert (high - low) / height == pytest.approx((along[1] - along[0]) / width)
        assert low < 0
    # At its widest the drawing holds the whole flange and its numbers.
    assert high > 20


def test_a_strip_without_a_weld_is_drawn_as_bare_metal():
    chart = drawing(laid_out(2), (300, 410), 150, "mm")
    assert [len(frame_of(chart, layer)) for layer in range(8)] == [1, 3, 1, 0, 0, 0, 0, 0]
    chart.to_dict()


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_welds_and_sites_are_drawn_at_their_size_and_told_apart_by_shape(unit):
    layout, mm = laid_out(), {"mm": 1.0, "in": 1 / 25.4}[unit]
    chart = drawing(layout, (0, 150), 150, unit)
    new, old, strokes = (frame_of(chart, layer) for layer in (3, 4, 5))
    for frame, place, row, size in (
        (new, layout.welds[0].new_mm, layout.row_mm, 6),
        (old, 40, 9, 8),
    ):
        first = frame[frame["weld"] == 1]
        middle = [math.hypot(x - mm * place, y - mm * row) for x, y in first[["x", "y"]].values]
        assert middle == pytest.approx([mm * size / 2] * len(middle))
    assert len(strokes) == old["weld"].nunique()
    marks = [layer["mark"] for layer in chart.to_dict()["layer"]]
    assert marks[3]["filled"] is True
    assert "filled" not in marks[4]


def test_strips_cover_the_flange_once_and_cut_no_weld():
    layout = laid_out()
    strips = strips_mm(layout)
    assert [strips[0][0], strips[-1][1]] == [0, 410]
    assert all(one[1] == other[0] for one, other in pairwise(strips))
    for _, cut in strips[:-1]:
        for weld in layout.welds:
            assert abs(cut - weld.new_mm) > 3
            assert abs(cut - weld.old_mm) > 4
    assert strips_mm(laid_out(2, 120.0)) == [(0, 120)]


def test_only_the_true_ends_of_the_flange_are_drawn_as_edges():
    layout = laid_out()
    strips = strips_mm(layout)
    ends = [frame_of(drawing(layout, strip, 170, "mm"), 1) for strip in strips]
    upright = [int((frame["x"] == frame["x2"]).sum()) for frame in ends]
    assert upright == [1, *[0] * (len(strips) - 2), 1]
