"""A section through a weld as it grows, drawn to scale from a calculated weld. SVG out, no rules.

Sheets are filled by bands of temperature. The caps are drawn as plain copper: at the sharp edge of
their faces the calculation is too hot. Nothing here runs in the browser: a moving picture is a
style sheet that shows one drawing after the other.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import cast

import numpy as np
from contourpy import FillType, LineType, contour_generator
from numpy.typing import NDArray

from advisor.heat.body import WIDENS
from advisor.heat.history import WeldHistory
from advisor.heat.properties import LIQUIDUS_DEGC, ROOM_DEGC
from advisor.language import msg, say
from advisor.pages.parts.palette import named
from advisor.weld.electrode import Electrode
from advisor.weld.sheet import Surface
from advisor.weld.stack import Stack

Field = NDArray[np.float64]
#: Outlines with their holes, and what each of their points is.
Areas = tuple[list[Field], list[NDArray[np.uint8]]]
#: Bands by their lower end in °C, with what happens there. 720 is where steel begins to harden on
#: cooling fast (from memory); the others only make the picture readable. Choice of this project.
BANDS = (
    (200.0, msg("warm")),
    (450.0, msg("hot")),
    (720.0, msg("changes its structure")),
    (1100.0, msg("soft")),
    (LIQUIDUS_DEGC, msg("melt")),
)
COLOURS = [named(f"heat-{n}") for n in range(1, 6)]
_STEEL, _COPPER, _ON_STEEL = map(named, ("steel", "copper", "on-steel"))
_DRAWN, _PANEL = map(named, ("drawn", "panel"))
#: The font of the page; a print takes what it has.
_FONT = "'Source Sans','Source Sans 3',sans-serif"
_ZINC = {Surface.HOT_DIP_ZINC, Surface.ELECTRO_ZINC, Surface.GALVANNEALED}
#: Units of the drawing in a millimetre; of copper shown above and below; room for words at the
#: right. [1/mm], [mm], [mm]
_SCALE, _CAP_MM, _WORDS_MM = 40, 1.6, 3.8
_SECONDS = 6.0
_numbers = itertools.count()


def _face(first: Field, second: Field) -> Field:
    """Return the temperature of an outer face from its two nearest layers, one row. [degC].

    A cap cools the face below the middle of its first layer. Drawn as warm as that middle, the
    layer would end in a step. Heat that is made at the face itself is left out.
    """
    return np.asarray(np.minimum(first, np.maximum(1.5 * first - 0.5 * second, ROOM_DEGC)))[None]


@dataclass(frozen=True, eq=False)
class WeldDrawing:
    """A calculated weld, ready to be drawn.

    Parameters
    ----------
    name : str
        What it is called on the page.
    stack : Stack
        What is welded.
    electrode : Electrode
        With what.
    history : WeldHistory
        How it grew.
    least_half_mm : float
        How far from the axis is shown at least, so that drawings side by side have one scale. [mm]
    """

    name: str
    stack: Stack
    electrode: Electrode
    history: WeldHistory
    least_half_mm: float = 0.0

    @property
    def moments(self) -> int:
        """How many drawings there are."""
        return len(self.history.frames.times_ms)

    def moment_at(self, time_ms: float) -> int:
        """Return the number of the drawing nearest to a time.

        Parameters
        ----------
        time_ms : float
            Time since the current began. [ms]
        """
        return int(np.abs(self.history.frames.times_ms - time_ms).argmin())

    def sizes_at(self, moment: int) -> tuple[float, ...]:
        """Return the melt's largest diameter so far at each interface. [mm]."""
        history = self.history
        row = int(np.searchsorted(history.times_ms, history.frames.times_ms[moment] - 1e-6))
        row = min(row, len(history.times_ms) - 1)
        return tuple(float(each) for each in history.nugget_mm[row])

    @cached_property
    def half_width_mm(self) -> float:
        """How far from the axis is shown. [mm]."""
        return max(
            self.least_half_mm,
            self.electrode.face_mm / 2 + 1.6,
            max(self.history.diameters_mm) / 2 + 1.2,
        )

    @cached_property
    def _places(self) -> tuple[Field, Field, slice]:
        """Places across and through the sheets, edges included, and the layers of the sheets."""
        frames = self.history.frames
        edges = frames.z_edges_mm
        inside = (edges[:-1] >= -1e-9) & (edges[1:] <= self.stack.total_mm + 1e-9)
        layers = slice(int(inside.argmax()), int(inside.argmax() + inside.sum()))
        middles = (edges[:-1] + edges[1:])[layers] / 2
        r = (frames.r_edges_mm[:-1] + frames.r_edges_mm[1:]) / 2
        return (
            np.concatenate((-r[::-1], r)),
            np.concatenate(([0.0], middles, [self.stack.total_mm])),
            layers,
        )

    def field(self, moment: int) -> tuple[Field, Field, Field]:
        """Return places across, places down and temperature of the sheets. [mm], [mm], [degC]."""
        across, down, layers = self._places
        warm = self.history.frames.temperature[moment, layers].astype(float)
        both = np.hstack((warm[:, ::-1], warm))
        faces = (_face(both[0], both[1]), _face(both[-1], both[-2]))
        return across, down, np.vstack((faces[0], both, faces[1]))

    @cached_property
    def hottest(self) -> Field:
        """Hottest so far, at each moment and place. [degC]."""
        fields = np.stack([self.field(moment)[2] for moment in range(self.moments)])
        return np.asarray(np.maximum.accumulate(fields, axis=0))


def still(drawing: WeldDrawing, moment: int, sizes: list[str]) -> str:
    """Return the section at one moment as SVG.

    Parameters
    ----------
    drawing : WeldDrawing
        The weld.
    moment : int
        Which of its drawings.
    sizes : list of str
        The size at each interface in words, top to bottom.
    """
    words = [_time(drawing, moment), *sizes]
    inner = _still_parts(drawing) + _moving(drawing, moment) + _fixed_lines(drawing)
    inner += _labels(drawing, moment, sizes)
    what = say("Section through {weld} at {moment}", weld=drawing.name, moment=", ".join(words))
    return _svg(drawing, inner, what)


def playing(drawing: WeldDrawing, sizes: list[list[str]]) -> tuple[str, str]:
    """Return the section as SVG that shows its moments one after the other, over and over.

    Parameters
    ----------
    drawing : WeldDrawing
        The weld.
    sizes : list of list of str
        For each moment the sizes in words, as for `still`.

    Returns
    -------
    drawn, style : str
        The SVG and the style sheet that moves it.
    """
    mark, count = f"weld{next(_numbers)}", drawing.moments
    step = _SECONDS / count
    style = (
        f"<style>.{mark} g.f {{visibility:hidden;animation:{mark} {_SECONDS}s step-end infinite}}"
        f"@keyframes {mark} {{0%{{visibility:visible}}{100 / count:.3f}%{{visibility:hidden}}}}"
        f"@media (prefers-reduced-motion: reduce) {{.{mark} g.f {{animation:none}}"
        f".{mark} g.f:last-of-type {{visibility:visible}}}}</style>"
    )
    pictures = "".join(
        f'<g class="f" style="animation-delay:{moment * step:.2f}s">'
        f"{_moving(drawing, moment)}{_fixed_lines(drawing)}"
        f"{_labels(drawing, moment, sizes[moment])}</g>"
        for moment in range(count)
    )
    inner = f'<g class="{mark}">{_still_parts(drawing)}<g>{pictures}</g></g>'
    words = say("Section through {weld} as it grows", weld=drawing.name)
    return _svg(drawing, inner, words), style


def _svg(drawing: WeldDrawing, inner: str, words: str) -> str:
    half, total = drawing.half_width_mm, drawing.stack.total_mm
    box = (-half, -_CAP_MM, 2 * half + _WORDS_MM, total + 2 * _CAP_MM + 0.7)
    numbers = " ".join(f"{each * _SCALE:.0f}" for each in box)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{numbers}" role="img" '
        f'aria-label="{escape(words, quote=True)}" style="width:100%;height:auto;'
        f'background:{_PANEL};font-family:{_FONT}" class="weld-section">{inner}</svg>'
    )


def _still_parts(drawing: WeldDrawing) -> str:
    """Draw caps and cold sheets."""
    half, total = drawing.half_width_mm, drawing.stack.total_mm
    face = drawing.electrode.face_mm / 2
    wide = min(face + _CAP_MM * WIDENS, half)
    caps = [
        [(-face, at), (face, at), (wide, back), (-wide, back)]
        for at, back in ((0.0, -_CAP_MM), (total, total + _CAP_MM))
    ]
    return "".join(
        [
            *(f'<path d="{_path(np.array(cap))}" fill="{_COPPER}"/>' for cap in caps),
            f'<rect x="{-half * _SCALE:.0f}" y="0" width="{2 * half * _SCALE:.0f}" '
            f'height="{total * _SCALE:.0f}" fill="{_STEEL}"/>',
        ]
    )


def _moving(drawing: WeldDrawing, moment: int) -> str:
    """Draw the bands of one moment and the edges of melt, now and at its largest."""
    across, down, warm = drawing.field(moment)
    keep = np.abs(across) <= drawing.half_width_mm
    across, warm = across[keep], warm[:, keep]
    lines = contour_generator(
        across, down, warm, line_type=LineType.Separate, fill_type=FillType.OuterCode
    )
    upper = [low for low, _ in BANDS[1:]] + [1e5]
    parts = []
    for (low, _), high, colour in zip(BANDS, upper, COLOURS, strict=True):
        if warm.max() > low:
            parts.append(_filled(cast("Areas", lines.filled(low, high)), colour))
    if warm.max() > LIQUIDUS_DEGC:
        parts.append(_edges(cast("list[Field]", lines.lines(LIQUIDUS_DEGC)), ""))
    hottest = drawing.hottest[moment][:, keep]
    if hottest.max() > LIQUIDUS_DEGC:
        largest = contour_generator(across, down, hottest, line_type=LineType.Separate)
        outline = cast("list[Field]", largest.lines(LIQUIDUS_DEGC))
        parts.append(_edges(outline, ' stroke-dasharray="6 5"'))
    return "".join(parts)


def _filled(found: Areas, colour: str) -> str:
    shapes = []
    for points, codes in zip(*found, strict=True):
        ends = [*np.flatnonzero(codes == 1), len(points)]
        rings = (points[a:b] for a, b in itertools.pairwise(ends))
        shapes.append("".join(_path(ring) for ring in rings))
    return f'<path d="{"".join(shapes)}" fill="{colour}" fill-rule="evenodd"/>' if shapes else ""


def _edges(lines: list[Field], dashes: str) -> str:
    drawn = "".join(_path(line, closed=False) for line in lines)
    stroke = f'stroke="{_ON_STEEL}" stroke-width="3"{dashes}'
    return f'<path d="{drawn}" fill="none" {stroke}/>' if drawn else ""


def _path(points: Field, *, closed: bool = True) -> str:
    rounded = [f"{x * _SCALE:.0f} {y * _SCALE:.0f}" for x, y in points]
    steps = [a for a, b in itertools.pairwise([*rounded, ""]) if a != b]
    return f"M{'L'.join(steps)}{'Z' if closed else ''}"


def _fixed_lines(drawing: WeldDrawing) -> str:
    """Draw the faces of the sheets; a zinc face is a double line."""
    half = drawing.half_width_mm * _SCALE
    stack, at, parts = drawing.stack, 0.0, []
    for sheet in stack.sheets:
        for face, inward in ((sheet.upper, 1), (sheet.lower, -1)):
            y = at * _SCALE
            parts.append(f'<path d="M{-half:.0f} {y:.0f}H{half:.0f}" {_thin(2)}/>')
            if face in _ZINC:
                beside = y + 5 * inward
                parts.append(f'<path d="M{-half:.0f} {beside:.0f}H{half:.0f}" {_thin(1)}/>')
            at += sheet.thickness_mm if inward > 0 else 0.0
    return "".join(parts)


def _thin(width: int, colour: str = _ON_STEEL) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{width}"'


def _labels(drawing: WeldDrawing, moment: int, sizes: list[str]) -> str:
    """Write the sizes with their arrows, what was thrown out, and the scale."""
    half, total = drawing.half_width_mm * _SCALE, drawing.stack.total_mm
    at, parts = 0.0, []
    below = -1e9
    for sheet, words, size in zip(
        drawing.stack.sheets, sizes, drawing.sizes_at(moment), strict=False
    ):
        at += sheet.thickness_mm
        below = max(at * _SCALE + 7, below + 24)
        if size > 0:
            parts.append(_arrow(size, at))
        parts.append(_text(half + 10, below, words))
    if _is_thrown(drawing, moment):
        parts.append(_burst(half + 18, -_CAP_MM * _SCALE + 30))
        parts.append(_text(half + 36, -_CAP_MM * _SCALE + 37, say("expulsion")))
    y = (total + _CAP_MM) * _SCALE + 14
    parts.append(f'<path d="M{-half + 8:.0f} {y:.0f}h{2 * _SCALE}m0 -6v12m{-2 * _SCALE} 0v-12" ')
    parts.append(f"{_thin(2, _DRAWN)}/>{_text(-half + 18 + 2 * _SCALE, y + 7, '2 mm')}")
    parts.append(_text(half + 10, (total + _CAP_MM) * _SCALE + 20, _time(drawing, moment)))
    return "".join(parts)


def _time(drawing: WeldDrawing, moment: int) -> str:
    return say("{time:.0f} ms", time=drawing.history.frames.times_ms[moment])


def _is_thrown(drawing: WeldDrawing, moment: int) -> bool:
    expulsion = drawing.history.expulsion
    return (
        expulsion is not None
        and drawing.history.frames.times_ms[moment] >= expulsion.time_ms - 1e-6
    )


def _arrow(size_mm: float, at_mm: float) -> str:
    half, y = size_mm / 2 * _SCALE, at_mm * _SCALE
    ends = f"M{-half:.0f} {y - 10:.0f}v20M{half:.0f} {y - 10:.0f}v20M{-half:.0f} {y:.0f}H{half:.0f}"
    return f'<path d="{ends}" {_thin(7, _STEEL)}/><path d="{ends}" {_thin(3)}/>'


def _burst(x: float, y: float) -> str:
    """Draw a star of eight points: metal that was thrown out."""
    angles = np.arange(16) * np.pi / 8
    reach = np.where(np.arange(16) % 2, 6, 15)
    star = "L".join(
        f"{x + r * np.cos(a):.0f} {y + r * np.sin(a):.0f}"
        for a, r in zip(angles, reach, strict=True)
    )
    return f'<path d="M{star}Z" fill="{_DRAWN}"/>'


def _text(x: float, y: float, words: str) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" font-size="21" fill="{_DRAWN}">{escape(words)}</text>'
