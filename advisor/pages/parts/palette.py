"""The colours, named once: for light and dark ground, for charts, and for paper.

What is drawn names a colour by its custom property, as in ``var(--ink)``; the style sheet that
`sheet` returns says what it is on the ground of the moment. So HTML, SVG and charts follow the
theme by themselves. `on_paper` puts figures in their place for files, which are always white.

States are told by word and shape as well as by colour; blue and vermilion stay apart for
colour-blind eyes (Okabe and Ito's pair, darkened and lightened for contrast).
"""

from __future__ import annotations

import re
from typing import Any

_CHANCES = 5
#: By name: on light ground, on dark ground.
_BOTH = {
    "ground": ("#f4f3ee", "#14191c"),
    "surface": ("#ffffff", "#1e262a"),
    "field": ("#e9e7df", "#283237"),
    "ink": ("#17212a", "#eceae3"),
    "soft": ("#48535e", "#b7c0c4"),
    "line": ("#d3cec1", "#3b474d"),
    "edge": ("#777161", "#8b979c"),
    "accent": ("#0f5a63", "#6cc6cf"),
    "on-accent": ("#ffffff", "#0c1a1d"),
    "good": ("#0b4f8a", "#8fc0f4"),
    "bad": ("#a63a00", "#ff9f6b"),
    "doubt": ("#6b5200", "#e2c15c"),
    # The head, the foot of a phone and the ribbon; the loud card; what shouts.
    "plate": ("#12292e", "#0a1012"),
    "on-plate": ("#f6f5f1", "#eceae3"),
    "loud": ("#a63a00", "#a63a00"),
    "on-loud": ("#ffffff", "#ffffff"),
    "signal": ("#ffd24a", "#ffd24a"),
    "on-signal": ("#17212a", "#17212a"),
    # Chance of a sound weld, further from the ground the higher, so that every eye can rank it.
    "chance-1": ("#fff6cf", "#33301f"),
    "chance-2": ("#cfe3c0", "#3c5644"),
    "chance-3": ("#86bfc2", "#3f8288"),
    "chance-4": ("#3d84b3", "#6db6dc"),
    "chance-5": ("#123f7c", "#dcefff"),
    # The same where nothing was tested near: grey.
    "unknown-1": ("#ebe9e4", "#262a2c"),
    "unknown-2": ("#dbd9d4", "#34393b"),
    "unknown-3": ("#c9c7c1", "#464b4d"),
    "unknown-4": ("#b4b2ac", "#5d6264"),
    "unknown-5": ("#9a9892", "#7b8082"),
    # A section through a weld: its metal is the same on both grounds, darker the hotter, so that it
    # prints grey; what is drawn on metal is dark on both, what stands beside it follows the ground.
    "steel": ("#e3e6e9", "#e3e6e9"),
    "copper": ("#d9b391", "#d9b391"),
    "heat-1": ("#fbe9c0", "#fbe9c0"),
    "heat-2": ("#f7c873", "#f7c873"),
    "heat-3": ("#ee9a3f", "#ee9a3f"),
    "heat-4": ("#c75a1e", "#c75a1e"),
    "heat-5": ("#6d1420", "#6d1420"),
    "on-steel": ("#17212a", "#17212a"),
    "drawn": ("#17212a", "#eceae3"),
    "panel": ("#fbfaf7", "#1e262a"),
}
LIGHT = {name: both[0] for name, both in _BOTH.items()}
DARK = {name: both[1] for name, both in _BOTH.items()}
_PAPER = LIGHT | {"ground": LIGHT["surface"]}
PAPER_INK = LIGHT["ink"]
_NAMED = re.compile(r"var\(--([a-z0-9-]+)\)")


def named(name: str) -> str:
    """Return the colour of a name as HTML, SVG and charts take it.

    Raises
    ------
    KeyError
        There is no colour of this name.
    """
    if name not in _BOTH:
        raise KeyError(name)
    return f"var(--{name})"


GROUND, FIELD, INK, SOFT, LINE = map(named, ("ground", "field", "ink", "soft", "line"))
ACCENT, GOOD, BAD, SIGNAL = map(named, ("accent", "good", "bad", "signal"))
TESTED = [named(f"chance-{n}") for n in range(1, _CHANCES + 1)]
UNTESTED = [named(f"unknown-{n}") for n in range(1, _CHANCES + 1)]


def sheet() -> str:
    """Return the custom properties as CSS.

    Where a browser can, the ground that something stands on decides (`light-dark`); what floats
    over the page stands outside its frame and follows the device, as the page itself does.
    """
    both = _properties({name: f"light-dark({a}, {b})" for name, (a, b) in _BOTH.items()})
    return (
        f"{followed()}\n"
        f"@supports (color: light-dark({LIGHT['ink']}, {DARK['ink']})) {{ :root {{ {both} }} }}\n"
        "@media print { :root, .stApp, .stApp * { color-scheme: light !important; } }\n"
    )


def followed() -> str:
    """Return the custom properties as CSS for a page that follows the device by itself."""
    return (
        f":root{{color-scheme:light dark;{_properties(LIGHT)}}}"
        f"@media(prefers-color-scheme:dark){{:root{{{_properties(DARK)}}}}}"
    )


def _properties(colours: dict[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())


def on_white(text: str) -> str:
    """Return HTML or SVG with the colours of white paper in place of their names."""
    return _NAMED.sub(lambda found: _PAPER.get(found[1], found[0]), text)


def on_paper(value: Any) -> Any:
    """Return a chart's specification with colours for white paper; its data stay as they are.

    Parameters
    ----------
    value : dict, list or plain value
        A specification or a part of one.
    """
    if isinstance(value, dict):
        data = ("data", "datasets")
        return {key: each if key in data else on_paper(each) for key, each in value.items()}
    if isinstance(value, list):
        return [on_paper(each) for each in value]
    found = _NAMED.fullmatch(value) if isinstance(value, str) else None
    return _PAPER.get(found[1], value) if found else value
