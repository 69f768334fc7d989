"""The expected size as a small bar against the minimum. HTML out, no rules."""

from __future__ import annotations

from html import escape

from advisor.language import say
from advisor.learning.sound import Expected
from advisor.pages.parts.units_choice import UnitChoice

#: Share of the width left of the first and right of the last figure, for their labels. [%]
_MARGIN = 22.0


def size_words(expected: Expected, units: UnitChoice) -> str:
    """Return the expected size, its interval and the minimum in a sentence."""
    size, low, high, least = (
        units.show("diameter", value)
        for value in (expected.size_mm, expected.low_mm, expected.high_mm, expected.minimum_mm)
    )
    return say(
        "Expected size {size}, nine coupons in ten between {low} and {high}; minimum {least}.",
        size=size,
        low=low,
        high=high,
        least=least,
    )


def size_bar(expected: Expected, units: UnitChoice) -> str:
    """Return the bar: the interval, the part of it below the minimum hatched, and the minimum."""
    low, high, least = expected.low_mm, expected.high_mm, expected.minimum_mm
    first, last = min(low, least), max(high, least)

    def place(value_mm: float) -> float:
        return _MARGIN + (100 - 2 * _MARGIN) * (value_mm - first) / (last - first)

    def at(name: str, value_mm: float, words: str = "") -> str:
        return f'<span class="{name}" style="left:{place(value_mm):.2f}%">{escape(words)}</span>'

    def across(name: str, start_mm: float, end_mm: float) -> str:
        if end_mm <= start_mm:
            return ""
        width = place(end_mm) - place(start_mm)
        return (
            f'<span class="{name}" style="left:{place(start_mm):.2f}%;width:{width:.2f}%"></span>'
        )

    parts = [
        '<span class="line"></span>',
        across("range", max(low, least), high),
        across("short", low, min(high, least)),
        at("least", least),
        at("mid", expected.size_mm),
        at("low", low, units.show("diameter", low)),
        at("high", high, units.show("diameter", high)),
        at("name", least, say("minimum {size}", size=units.show("diameter", least))),
    ]
    words = escape(size_words(expected, units))
    return f'<div class="size" role="img" aria-label="{words}">{"".join(parts)}</div>'
