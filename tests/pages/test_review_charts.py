"""Charts of the review: axes with units, counts as text, and nothing said by colour alone."""

import itertools
import json

import pandas as pd
import pytest
from chart_makers import NAMES, every_chart, points, rate_table

from advisor.pages.parts import drift_charts, review_charts
from advisor.pages.parts.chart_files import About, file_spec
from advisor.pages.parts.palette import LIGHT
from advisor.review.pareto import pareto

CHARTS = every_chart()


def parts_of(spec):
    """Return every view of a chart that draws something."""
    inner = [each for key in ("layer", "vconcat") for each in spec.get(key, ())]
    return [spec] if "mark" in spec else [p for each in inner for p in parts_of(each)]


@pytest.fixture(params=CHARTS)
def spec(request):
    return file_spec(CHARTS[request.param][0], About("title"))


def test_every_axis_has_a_title_and_every_number_its_unit(spec):
    titles = {
        (channel, definition.get("title"))
        for part in parts_of(spec)
        for channel, definition in part["encoding"].items()
        if channel in ("x", "y") and "axis" in definition
    }
    assert {channel for channel, _ in titles} == {"x", "y"}
    assert all(title for _, title in titles)
    for _, title in titles - {(c, w) for c in "xy" for w in ("welder", "machine")}:
        assert "[" in title or title in ("cause of failure", "week, passed of judged")


def test_every_field_names_its_type(spec):
    for part in parts_of(spec):
        for channel, definition in part["encoding"].items():
            for each in definition if isinstance(definition, list) else [definition]:
                if "field" in each and channel not in ("x2", "y2"):
                    assert each["type"] in ("quantitative", "nominal"), (channel, each)


def test_no_colour_is_a_figure_and_there_are_two_besides_ink(spec):
    seen = set()
    for part in parts_of(spec):
        assert not {"color", "fill", "stroke"} & set(part["encoding"])
        seen.add(part["mark"].get("color"))
    on_paper = {name: LIGHT[name] for name in ("ink", "soft", "accent", "bad")}
    assert seen <= {*on_paper.values(), None}


def test_marks_and_lines_of_unlike_colour_are_of_unlike_shape_too(spec):
    def shape(part):
        mark = part["mark"]
        # Solid where nothing is said of dashes.
        dash = tuple(mark.get("strokeDash", (1, 0)))
        return mark["type"], mark.get("shape"), mark.get("filled"), dash, mark.get("strokeWidth")

    drawn = [p for p in parts_of(spec) if p["mark"]["type"] not in ("text", "area", "bar")]
    for one, other in itertools.combinations(drawn, 2):
        if one["mark"].get("color") != other["mark"].get("color"):
            assert shape(one) != shape(other)


def test_every_mark_has_a_key_in_words(spec):
    key = " ".join(spec["vconcat"][0]["title"]["subtitle"])
    kinds = {
        part["mark"].get("shape") for part in parts_of(spec) if part["mark"]["type"] == "point"
    }
    said = {
        "circle": ("circle", "○", "●"),
        "diamond": ("diamond",),
        "square": ("□",),
        "triangle-up": ("▲",),
        "triangle-down": ("▼",),
    }
    for shape in kinds - {None}:
        assert any(word in key for word in said[shape]), (shape, key)


@pytest.mark.parametrize("name", CHARTS)
def test_counts_and_titles_are_in_the_chart(name):
    chart, words = CHARTS[name]
    assert words in json.dumps(chart.to_dict(), ensure_ascii=False)


@pytest.mark.parametrize("name", CHARTS)
def test_what_marks_can_be_pointed_at(name):
    tips = [p["encoding"].get("tooltip") for p in parts_of(CHARTS[name][0].to_dict())]
    assert any(tips)


def values(spec, mark, shape):
    """Return the rows behind the points of a shape."""
    found = []
    for part in parts_of(spec):
        if part["mark"]["type"] == mark and part["mark"].get("shape") == shape:
            found += spec["datasets"][part["data"]["name"]]
    return found


def test_a_group_without_a_pooled_rate_keeps_its_row():
    spec = CHARTS["rates"][0].to_dict()
    pooled = [row["name"] for row in values(spec, "point", "diamond")]
    assert pooled == NAMES[:3]
    rows = [p for p in parts_of(spec) if "sort" in p["encoding"].get("y", {})]
    assert {tuple(p["encoding"]["y"]["sort"]) for p in rows} == {tuple(NAMES)}
    key = review_charts.rates(rate_table().assign(pooled=float("nan")), 0.9).to_dict()["title"]
    assert not any("pooled" in line for line in key["text"])


def test_the_target_is_a_dashed_line_with_its_words():
    for name in ("rates", "by period"):
        text = json.dumps(CHARTS[name][0].to_dict())
        assert "target 90 %" in text
        assert '"strokeDash": [6, 4]' in text


def test_what_was_foretold_is_drawn_over_the_tenths_in_which_something_lies():
    table = pd.DataFrame(
        {
            "foretold": [0.004, 0.11],
            "seen": [0.0, 0.17],
            "low": [0.0, 0.05],
            "high": [0.13, 0.45],
            "count": [25, 12],
            "reading": ["one", "two"],
        }
    )
    spec = review_charts.reliability(table, "expulsion").to_dict()
    domains = {
        tuple(p["encoding"]["x"]["scale"]["domain"])
        for p in parts_of(spec)
        if "scale" in p["encoding"].get("x", {})
    }
    assert domains == {(0, 0.5)}
    text = json.dumps(spec)
    assert "foretold 0.4 %, seen 0 %, n 25" in text
    likely = table.assign(foretold=0.92, seen=0.9, low=0.71, high=1.0)
    (first, last) = review_charts._ends(likely)
    assert (first, last) == (0.7, 1.0)


def test_a_bar_that_leaves_no_room_holds_its_count():
    table = review_charts.pareto(pareto({"too small": 30, "no button": 4}, 30), 30).to_dict()
    within = [p for p in parts_of(table) if p["mark"].get("fill") and p["mark"]["type"] == "text"]
    assert [row["count"] for p in within for row in table["datasets"][p["data"]["name"]]] == [
        "30 of 30"
    ]
    assert "share of the 34 causes noted" in " ".join(table["title"]["text"])


@pytest.mark.parametrize("name", ["individuals", "ewma", "wear"])
def test_no_line_is_drawn_over_the_words_of_a_level(name):
    kinds = [p["mark"]["type"] for p in parts_of(CHARTS[name][0].to_dict())]
    assert "text" not in kinds[: len(kinds) - 1 - kinds[::-1].index("rule")]


def test_coupons_are_told_apart_by_shape():
    spec = CHARTS["individuals"][0].to_dict()
    numbers = {
        shape: {row["number"] for row in values(spec, "point", shape)}
        for shape in ("circle", "square", "triangle-up", "triangle-down")
    }
    assert numbers["triangle-down"] == {131}  # no size
    assert numbers["square"] == {129, 130}  # not held against the limits
    assert numbers["triangle-up"] == {137, 138, 139, 140}
    assert set().union(*numbers.values()) == set(points()["number"])


def test_a_coupon_without_a_size_stands_at_the_foot():
    (part,) = (
        p
        for p in parts_of(CHARTS["individuals"][0].to_dict())
        if p["mark"].get("shape") == "triangle-down"
    )
    assert part["encoding"]["y"] == {"value": "height"}


def test_the_order_of_welding_has_days_at_few_places():
    axis = next(
        p["encoding"]["x"]["axis"]
        for p in parts_of(CHARTS["individuals"][0].to_dict())
        if "x" in p["encoding"]
    )
    assert axis["values"] == [1, 9, 17, 25, 33]
    assert axis["labelExpr"].startswith('["2 Mar", "8 Mar", ')


def test_what_was_done_to_the_machine_stands_beside_its_line():
    text = json.dumps(CHARTS["individuals"][0].to_dict())
    assert "caps fitted" in text
    assert "dressed" in text
    assert "caps fitted" not in json.dumps(drift_charts.individuals(points(), 4.9).to_dict())


def test_years_are_named_where_coupons_span_them():
    slow = points().assign(made_at=pd.date_range("2025-01-10", periods=40, freq="11D"))
    spec = drift_charts.individuals(slow, 4.9).to_dict()
    assert '"10 Jan 2025"' in spec["layer"][0]["encoding"]["x"]["axis"]["labelExpr"]
