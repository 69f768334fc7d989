"""A peeled interface drawn from above between the jaws of a calliper, to be read. SVG out.

The drawing is to scale; the shape is invented. It takes its colours from the page's custom
properties and is otherwise ink on the ground, so it is right on a light and on a dark one. A page
shows it by `st.markdown`: what `st.html` lets through knows no SVG.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from advisor.coupons.coupon import InterfaceResult
from advisor.language import figure, msg, say
from advisor.units import from_inner, label
from advisor.weld.failure import FailureType

#: Drawn units a millimetre, and corners of an outline.
_U, _CORNERS = 40.0, 96
#: Left of the scale's zero, above the button, and width of a jaw. [mm]
_LEFT_MM, _TOP_MM, _JAW_MM = 0.9, 0.35, 0.55
#: Shortest scale, and what it goes on beyond the reading. [mm]
_SHORTEST_MM, _BEYOND_MM = 6.0, 1.2
#: Heights: of the beam with its scale, and of the glass below it. [mm]
_BEAM_MM, _GLASS_MM = 1.0, 2.2
#: How much of the scale the glass shows either side of the reading. [mm]
_SEEN_MM = 0.75
#: How deep the ragged rim is cut, as a share of the radius.
_RAGGED = 0.07
_THROWN = "var(--bad, #a63a00)"
#: The two ways across, by whether the drawing is turned: what stands over it, and what it is.
_WAYS = {
    False: (
        msg("Longest way across"),
        msg("longest way across, between the jaws of a calliper"),
    ),
    True: (
        msg("Shortest way across"),
        msg("shortest way across, between the jaws of a calliper"),
    ),
}
Point = tuple[float, float]


@dataclass(frozen=True)
class _Ticks:
    """Steps of the scale in a unit: ticks and numbers on the beam, and under the glass."""

    coarse: float
    number: float
    number_places: int
    fine: float
    fine_number: float
    fine_places: int


_TICKS = {"mm": _Ticks(0.5, 1.0, 0, 0.1, 0.5, 1), "in": _Ticks(0.05, 0.1, 1, 0.01, 0.02, 2)}
#: Goes on the page once, by `st.html`.
STYLE = """
<style>
.peel { display: flex; flex-wrap: wrap; gap: .4rem 1.6rem; color: var(--ink, #1b2430); }
.peel figure { margin: 0; flex: 1 1 19rem; min-width: 0; max-width: 30rem; }
.peel figcaption { font-weight: 650; font-size: .95rem; padding-bottom: .1rem; }
.peel svg.print { max-width: 11rem; }
.peel svg { width: 100%; height: auto; display: block; }
.peel text { fill: currentColor; font-variant-numeric: tabular-nums; font-weight: 600; }
</style>
"""


def drawing(
    result: InterfaceResult, look: int, unit: str, *, where: str = "", thrown: bool = False
) -> str:
    """Return a peeled interface as HTML, along its longest and along its shortest way across.

    Parameters
    ----------
    result : InterfaceResult
        What was peeled.
    look : int
        Number that the ragged edge is made from.
    unit : str
        Unit of the scale, ``mm`` or ``in``.
    where : str
        Which interface, for who does not see the drawing; empty where there is only one.
    thrown : bool
        Whether metal was thrown out.
    """
    if result.smallest_mm is None or result.largest_mm is None:
        seen = say("Seen from above")
        return f'<div class="peel">{_figure(seen, _print_only(where))}</div>'
    figures = ""
    for turned, (words, name) in _WAYS.items():
        across, up = result.largest_mm, result.smallest_mm
        across, up = (up, across) if turned else (across, up)
        panel = _Panel(result, look, unit, across, up, turned, thrown)
        figures += _figure(say(words), panel.svg(_named(where, say(name))))
    return f'<div class="peel">{figures}</div>'


def _named(where: str, words: str) -> str:
    return f"{where}: {words}" if where else words


def _figure(words: str, svg: str) -> str:
    return f"<figure><figcaption>{escape(words)}</figcaption>{svg}</figure>"


def _svg(width_mm: float, height_mm: float, name: str, parts: Sequence[str]) -> str:
    box = f"0 0 {_U * width_mm:.0f} {_U * height_mm:.0f}"
    return f'<svg viewBox="{box}" role="img" aria-label="{escape(name)}">{"".join(parts)}</svg>'


@dataclass(frozen=True)
class _Panel:
    """One drawing: `across_mm` lies between the jaws, `up_mm` along them."""

    result: InterfaceResult
    look: int
    unit: str
    across_mm: float
    up_mm: float
    turned: bool
    thrown: bool

    @property
    def _span_mm(self) -> float:
        """Length of the scale, the same in both drawings of an interface."""
        return max(_SHORTEST_MM, (self.result.largest_mm or 0) + _BEYOND_MM)

    @property
    def _beam_mm(self) -> float:
        """Upper edge of the beam."""
        return _TOP_MM + (self.result.largest_mm or 0) + 0.45

    def svg(self, name: str) -> str:
        parts = [*self._button(), *self._jaws(), *self._scale(), *self._glass()]
        height = self._beam_mm + _BEAM_MM + _GLASS_MM
        return _svg(_LEFT_MM + self._span_mm + 0.5, height, name, parts)

    def _button(self) -> Iterator[str]:
        middle = (_LEFT_MM + self.across_mm / 2, self._beam_mm - 0.35 - self.up_mm / 2)
        rim = self._outline(middle)
        failure = self.result.failure
        if self.thrown:
            yield from _whiskers(rim, middle, self.look)
        flat = failure in (FailureType.INTERFACE, FailureType.INTERFACE_WITH_BUTTON)
        yield _path(rim, fill=0.06 if flat else 0.2, width=1.5 if flat else 4)
        if flat:
            yield from self._sheared(middle)
        if failure is FailureType.INTERFACE_WITH_BUTTON:
            yield _path(_scaled(rim, middle, 0.45), fill=0.3, width=3.5)
        elif failure in (FailureType.BUTTON, FailureType.PART_BUTTON):
            yield _path(_scaled(rim, middle, 0.7), fill=0.12, width=1.2)
        if failure is FailureType.PART_BUTTON:
            yield _torn_side(rim, middle)

    def _outline(self, middle: Point) -> list[Point]:
        """Return a ragged ellipse that reaches its four ends exactly.

        The shape is made with its longest way across lying, and turned for the other drawing.
        """
        longest, shortest = self.result.largest_mm or 0, self.result.smallest_mm or 0
        found = []
        for angle, cut in _rim(self.look):
            x, y = longest / 2 * cut * math.cos(angle), shortest / 2 * cut * math.sin(angle)
            x, y = (-y, x) if self.turned else (x, y)
            found.append((middle[0] + x, middle[1] + y))
        return found

    def _sheared(self, middle: Point) -> Iterator[str]:
        """Draw the streaks of an interface that was sheared."""
        for share in (-0.7, -0.42, -0.14, 0.14, 0.42, 0.7):
            half = 0.44 * self.across_mm * math.sqrt(1 - share**2)
            y = middle[1] + share * self.up_mm / 2
            yield _line((middle[0] - half, y), (middle[0] + half, y), 1.2, 0.5)

    def _jaws(self) -> Iterator[str]:
        foot = self._beam_mm + _BEAM_MM
        for left, edge in (
            (_LEFT_MM - _JAW_MM, _LEFT_MM),
            (_LEFT_MM + self.across_mm, _LEFT_MM + self.across_mm),
        ):
            yield _box(left, _TOP_MM / 2, _JAW_MM, self._beam_mm - _TOP_MM / 2, 0.45)
            yield _line((edge, self._beam_mm), (edge, foot), 2.5, colour=_THROWN)

    def _scale(self) -> Iterator[str]:
        ticks, top = _TICKS[self.unit], self._beam_mm
        yield _box(_LEFT_MM, top, self._span_mm, _BEAM_MM, 0.06)
        for value, at_mm in _marks(ticks.coarse, 0.0, self._span_mm - 0.05, self.unit):
            x, whole = _LEFT_MM + at_mm, _is_step(value, ticks.number)
            yield _line((x, top), (x, top + (0.36 if whole else 0.22)))
            if whole and 0 < at_mm < self._span_mm - 0.3:
                yield _text((x, top + 0.82), figure(value, f".{ticks.number_places}f"), 16)

    def _glass(self) -> Iterator[str]:
        """Draw the scale under a magnifying glass, where tenths can be told apart."""
        ticks, width = _TICKS[self.unit], _LEFT_MM + self._span_mm + 0.3
        top = self._beam_mm + _BEAM_MM + 0.2
        grown, middle = (width - 0.2) / (2 * _SEEN_MM), width / 2
        yield _box(0.1, top, width - 0.2, _GLASS_MM - 0.3, 0.0, corner=0.3)
        yield _line((0.1, top + 0.6), (width - 0.1, top + 0.6), 1.5)
        low, high = self.across_mm - 0.95 * _SEEN_MM, self.across_mm + 0.95 * _SEEN_MM
        for value, at_mm in _marks(ticks.fine, low, high, self.unit):
            x, long = middle + grown * (at_mm - self.across_mm), _is_step(value, ticks.fine_number)
            yield _line((x, top + 0.6), (x, top + (1.15 if long else 0.9)), 2.2 if long else 1.5)
            if long and 0.5 < x < width - 0.5:
                yield _text((x, top + 1.68), figure(value, f".{ticks.fine_places}f"), 21)
        yield _arrow((middle, top + 0.58))
        yield _text((width - 0.3, top + 0.42), label(self.unit), 16, anchor="end")


def _rim(look: int) -> Iterator[tuple[float, float]]:
    """Return angles and what is left of the radius there; all of it at the four ends."""
    draw = random.Random(look)  # noqa: S311  (the look of a rim, nothing secret)
    waves = [(n, draw.uniform(0, 2 * math.pi)) for n in (3, 7, 13)]
    for corner in range(_CORNERS):
        angle = 2 * math.pi * corner / _CORNERS
        wave = sum(math.sin(n * angle + phase) for n, phase in waves) / 6 + 0.5
        yield angle, 1 - _RAGGED * abs(math.sin(2 * angle)) * wave


def _whiskers(rim: Sequence[Point], middle: Point, look: int) -> Iterator[str]:
    """Draw metal that was thrown out, aslant, so that no jaw hides it."""
    draw = random.Random(look + 1)  # noqa: S311
    for centre in (0.11, 0.15, 0.36, 0.61, 0.64, 0.88):
        corner = int(_CORNERS * (centre + draw.uniform(-0.01, 0.01)))
        x, y = rim[corner % _CORNERS]
        reach = draw.uniform(1.12, 1.24)
        tip = (middle[0] + reach * (x - middle[0]), middle[1] + reach * (y - middle[1]))
        yield _line((x, y), tip, 6.0, colour=_THROWN)


def _torn_side(rim: Sequence[Point], middle: Point) -> str:
    """Draw the side on which the sheet tore within its thickness."""
    start, end = int(0.07 * _CORNERS), int(0.43 * _CORNERS)
    side = [*rim[start:end], *reversed(_scaled(rim, middle, 0.7)[start:end])]
    return _path(side, fill=0.0, width=1.5, dashes="6 5", paper=True)


def _scaled(points: Sequence[Point], middle: Point, by: float) -> list[Point]:
    return [(middle[0] + by * (x - middle[0]), middle[1] + by * (y - middle[1])) for x, y in points]


def _print_only(where: str) -> str:
    """Draw an interface where nothing was fused: the print of the electrodes."""
    middle = (2.2, 2.2)
    name = _named(where, say("nothing fused, only the dull print of the electrodes"))
    rings = [
        f'<circle cx="{_U * middle[0]:.0f}" cy="{_U * middle[1]:.0f}" r="{_U * radius:.0f}" '
        f'fill="currentColor" fill-opacity="{shade}" stroke="currentColor" stroke-width="1.5" '
        f'stroke-dasharray="5 6"/>'
        for radius, shade in ((1.9, 0.05), (1.2, 0.05))
    ]
    return _svg(4.4, 4.4, name, rings).replace("<svg ", '<svg class="print" ', 1)


def _marks(step: float, low_mm: float, high_mm: float, unit: str) -> Iterator[tuple[float, float]]:
    """Return the marks of a scale: value in its unit, and place. [mm]."""
    a_unit_mm = 1 / from_inner("diameter", 1.0, unit)
    first = max(0, math.ceil(low_mm / a_unit_mm / step - 1e-6))
    for n in range(first, math.floor(high_mm / a_unit_mm / step + 1e-6) + 1):
        yield n * step, n * step * a_unit_mm


def _is_step(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-6


def _at(point: Point) -> str:
    return f"{_U * point[0]:.1f} {_U * point[1]:.1f}"


def _path(
    points: Sequence[Point], *, fill: float, width: float, dashes: str = "", paper: bool = False
) -> str:
    line = "M" + "L".join(_at(point) for point in points) + "Z"
    ground = "var(--surface, #ffffff)" if paper else "currentColor"
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="{line}" style="fill:{ground}" fill-opacity="{1 if paper else fill}" '
        f'stroke="currentColor" stroke-width="{width}" stroke-linejoin="round"{dashed}/>'
    )


def _line(
    start: Point, end: Point, width: float = 1.5, opacity: float = 1.0, colour: str = "currentColor"
) -> str:
    (x1, y1), (x2, y2) = start, end
    return (
        f'<line x1="{_U * x1:.1f}" y1="{_U * y1:.1f}" x2="{_U * x2:.1f}" y2="{_U * y2:.1f}" '
        f'style="stroke:{colour}" stroke-width="{width}" stroke-opacity="{opacity}" '
        'stroke-linecap="round"/>'
    )


def _box(
    left: float, top: float, width: float, height: float, shade: float, corner: float = 0.06
) -> str:
    return (
        f'<rect x="{_U * left:.1f}" y="{_U * top:.1f}" width="{_U * width:.1f}" '
        f'height="{_U * height:.1f}" rx="{_U * corner:.1f}" fill="currentColor" '
        f'fill-opacity="{shade}" stroke="currentColor" stroke-width="1.5"/>'
    )


def _text(at: Point, words: str, size: int, anchor: str = "middle") -> str:
    return (
        f'<text x="{_U * at[0]:.1f}" y="{_U * at[1]:.1f}" font-size="{size}" '
        f'text-anchor="{anchor}">{escape(words)}</text>'
    )


def _arrow(at: Point) -> str:
    x, y = at
    corners = [(x, y), (x - 0.17, y - 0.5), (x + 0.17, y - 0.5)]
    line = "M" + "L".join(_at(corner) for corner in corners) + "Z"
    return f'<path d="{line}" style="fill:{_THROWN}"/>'
