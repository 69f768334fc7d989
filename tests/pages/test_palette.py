"""The colours: named once, readable on both grounds, and on white in every file."""

import itertools
import json
import re
import tomllib
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from advisor.pages import sign_in
from advisor.pages.parts import palette
from advisor.pages.parts.palette import DARK, LIGHT, named, on_paper, sheet

ROOT = Path(__file__).resolve().parents[2]
PAGES = ROOT / "advisor" / "pages"
#: A colour in figures, in Python, CSS or SVG.
FIGURES = re.compile(r"#[0-9a-fA-F]{3,8}\b(?!;\w)|\b(?:rgba?|hsla?)\(")
BOTH = pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
#: Least ratio of text and of a drawn mark to its ground (WCAG 2.2, 1.4.3 and 1.4.11).
TEXT, MARK = 4.5, 3.0


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_that_of_the_standard():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # The grey that is said to be the lightest that may be read on white.
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@BOTH
def test_words_and_marks_can_be_read_on_every_ground(colours):
    grounds = [colours[name] for name in ("ground", "surface", "field")]
    for name, least in itertools.product(("ink", "soft", "accent", "good", "bad", "doubt"), [TEXT]):
        assert min(contrast(colours[name], ground) for ground in grounds) >= least, name
    assert min(contrast(colours["edge"], ground) for ground in grounds) >= MARK


@BOTH
@pytest.mark.parametrize(
    ("words", "ground"),
    [
        ("on-accent", "accent"),
        ("on-plate", "plate"),
        ("on-loud", "loud"),
        ("on-signal", "signal"),
        ("surface", "good"),
        ("surface", "bad"),
        ("surface", "doubt"),
        ("ground", "good"),
        ("ground", "bad"),
        ("ground", "doubt"),
    ],
)
def test_words_can_be_read_on_what_is_coloured(colours, words, ground):
    assert contrast(colours[words], colours[ground]) >= TEXT


@BOTH
@pytest.mark.parametrize("ramp", ["chance", "unknown"])
def test_a_higher_chance_is_always_further_from_the_ground(colours, ramp):
    ratios = [contrast(colours[f"{ramp}-{n}"], colours["ground"]) for n in range(1, 6)]
    assert ratios == sorted(ratios)
    steps = [contrast(colours[f"{ramp}-{n}"], colours[f"{ramp}-{n + 1}"]) for n in range(1, 5)]
    assert min(steps) > 1.15


def test_the_theme_has_the_same_colours():
    theme = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text())["theme"]
    for ground, colours in (("light", LIGHT), ("dark", DARK)):
        assert theme[ground] == {
            "primaryColor": colours["accent"],
            "backgroundColor": colours["ground"],
            "secondaryBackgroundColor": colours["field"],
            "textColor": colours["ink"],
            "borderColor": colours["edge"],
            "linkColor": colours["accent"],
        }


@pytest.mark.parametrize(
    "path",
    [p for p in sorted(PAGES.rglob("*")) if p.suffix in (".py", ".css")],
    ids=lambda path: str(path.relative_to(PAGES)),
)
def test_no_other_room_names_a_colour(path):
    if path == Path(palette.__file__):
        return
    text = path.read_text(encoding="utf-8")
    # What stands behind a name is for the case that the name is not known.
    assert FIGURES.findall(re.sub(r"var\(--[a-z-]+, #\w+\)", "", text)) == []


def test_every_property_that_is_used_is_there():
    texts = [p.read_text(encoding="utf-8") for p in PAGES.rglob("*") if p.suffix in (".py", ".css")]
    used = set(re.findall(r"var\(--([a-z0-9-]+)", " ".join(texts)))
    made = set(re.findall(r"--([a-z0-9-]+):", " ".join([*texts, sheet()])))
    assert used <= made


def test_a_name_that_is_none_is_refused():
    with pytest.raises(KeyError, match="pink"):
        named("pink")


def test_paper_is_white_and_data_stay_as_they_are():
    spec = {
        "mark": {"color": named("bad"), "fill": named("ground")},
        "scale": {"range": [named("ink"), "var(--none)", 3]},
        "data": {"values": [{"welder": "var(--ink)"}]},
    }
    assert on_paper(spec) == {
        "mark": {"color": LIGHT["bad"], "fill": "#ffffff"},
        "scale": {"range": [LIGHT["ink"], "var(--none)", 3]},
        "data": {"values": [{"welder": "var(--ink)"}]},
    }


def test_what_floats_over_the_page_follows_the_device():
    first = sheet().partition("@supports")[0]
    light, dark = first.split("@media(prefers-color-scheme:dark)")
    for text, colours in ((light, LIGHT), (dark, DARK)):
        assert dict(re.findall(r"--([a-z0-9-]+):(#\w+);", text)) == colours


def test_signing_in_follows_the_device():
    page = sign_in.form()
    light, dark = page.split("prefers-color-scheme:dark")
    assert json.dumps(LIGHT["ground"])[1:-1] in light
    assert DARK["ground"] in dark


def draw():
    from advisor.pages.parts import projector
    from advisor.pages.parts.look import dress_page

    dress_page()
    projector.switch()


def test_the_projector_is_remembered_in_the_address():
    app = AppTest.from_function(draw).run()
    assert "font-size: 25px" not in app.get("html")[0].body
    app.checkbox[0].check().run()
    assert "font-size: 25px" in app.get("html")[0].body
    assert app.query_params["projector"] == "on"

    other = AppTest.from_function(draw)
    other.query_params["projector"] = "on"
    other.run()
    assert other.checkbox[0].value
    assert "font-size: 25px" in other.get("html")[0].body
    other.checkbox[0].uncheck().run()
    assert "projector" not in other.query_params
