"""The stack between its electrodes as cells and materials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.heat.mesh import Grid, graded, joined
from advisor.heat.properties import Material, electrode_alloy, steel
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.stack import Stack

Field = NDArray[np.float64]
#: Copper between face and water, and radius of a cap: usual caps, from memory. [m]
CAP_HEIGHT, CAP_RADIUS = 8e-3, 8e-3
#: A cap widens behind its face at 30° to the sheet: from memory.
WIDENS = float(np.tan(np.radians(60)))
#: How deep a cap sinks into hot sheet, as a share of the thickness: from memory.
_SINKS = 0.2
#: Radius of a dome, from memory. [m]
DOME_RADIUS = {CapShape.DOME: 50e-3, CapShape.RADIUS: 75e-3}
#: Young's modulus over 1 - ν² of steel on copper alloy, from memory, in Pa.
_STIFFNESS = 8e10
_CAP_LAYERS, _SHEET_LAYERS, _FACE_RINGS, _OUTER_RINGS = 11, 24, 26, 9
_LEAST_LAYERS = 5


@dataclass(frozen=True, eq=False)
class Body:
    """Electrodes and sheets as cells.

    Parameters
    ----------
    grid : Grid
        The cells; z runs down from the upper face of the top sheet, in m.
    sheets : tuple of slice
        Layers of each sheet, top to bottom.
    materials : tuple of (slice, Material)
        Layers of each material.
    """

    grid: Grid
    sheets: tuple[slice, ...]
    materials: tuple[tuple[slice, Material], ...]

    def temperature(self, enthalpy: Field) -> Field:
        """Return the temperature of each cell from its heat."""
        return self._each("temperature", enthalpy)

    def slope(self, warm: Field) -> Field:
        """Return dH/dT of each cell at temperatures in °C."""
        return self._each("slope", warm)

    def heat(self, warm: Field) -> Field:
        """Return the heat of each cell at temperatures in °C."""
        return self._each("heat", warm)

    def conducts_heat(self, warm: Field) -> Field:
        """Return the thermal conductivity of each cell at temperatures in °C."""
        return self._each("conducts_heat", warm)

    def conducts_current(self, warm: Field) -> Field:
        """Return the electric conductivity of each cell at temperatures in °C."""
        return 1 / self._each("resists", warm)

    def _each(self, what: str, field: Field) -> Field:
        found = np.empty_like(field)
        for layers, material in self.materials:
            found[layers] = getattr(material, what)(field[layers])
        return found


def make_body(stack: Stack, electrode: Electrode, fineness: float, stirring: float) -> Body:
    """Return the cells of a stack between two caps.

    Parameters
    ----------
    stack : Stack
        The sheets.
    electrode : Electrode
        The caps.
    fineness : float
        Factor on the numbers of rings and layers.
    stirring : float
        Factor on the conductivity of the melt.
    """
    face = electrode.face_mm / 2000
    counts = [_layers(t, stack.total_mm, fineness) for t in stack.thicknesses_mm]
    z_faces, sheets = _layer_edges(stack, counts, round(_CAP_LAYERS * fineness))
    materials = [
        (layers, steel(sheet.family, stirring))
        for layers, sheet in zip(sheets, stack.sheets, strict=True)
    ]
    caps = [slice(0, sheets[0].start), slice(sheets[-1].stop, len(z_faces) - 1)]
    materials += [(layers, electrode_alloy()) for layers in caps]
    flats = sunk_radii(stack, electrode)
    grid = _inside_caps(Grid(_ring_edges(face, fineness), z_faces), caps, flats)
    return Body(grid, tuple(sheets), tuple(materials))


def _layers(thickness: float, total: float, fineness: float) -> int:
    return max(round(_LEAST_LAYERS * fineness), round(_SHEET_LAYERS * fineness * thickness / total))


def _layer_edges(stack: Stack, counts: list[int], cap: int) -> tuple[Field, list[slice]]:
    pieces, sheets, at, layer = [], [], 0.0, cap
    for thickness, count in zip(stack.thicknesses_mm, counts, strict=True):
        pieces.append(np.linspace(at, at + thickness / 1000, count + 1))
        sheets.append(slice(layer, layer + count))
        at, layer = float(pieces[-1][-1]), layer + count
    first, last = np.diff(pieces[0])[0], np.diff(pieces[-1])[0]
    before = graded(0.0, -CAP_HEIGHT, first, cap)[::-1]
    return joined(before, *pieces, graded(at, at + CAP_HEIGHT, last, cap)), sheets


def _ring_edges(face: float, fineness: float) -> Field:
    """Return rings that are even to half as far again as the face, then grow."""
    inner = np.linspace(0.0, 1.5 * face, round(_FACE_RINGS * fineness) + 1)
    outer = max(3 * face, CAP_RADIUS + 1e-3)
    return joined(inner, graded(inner[-1], outer, inner[1], round(_OUTER_RINGS * fineness)))


def _inside_caps(grid: Grid, caps: list[slice], flats: tuple[float, float]) -> Grid:
    """Return the grid with the room beside the caps, which are sunk already, left empty."""
    top = grid.z_faces[caps[1].start]
    bottom = grid.z_faces[caps[0].stop]

    def within(heights: Field) -> Field:
        away = np.maximum(np.maximum(heights - top, bottom - heights), 0)
        flat = np.where(heights > (top + bottom) / 2, flats[1], flats[0])
        edge = np.minimum(flat + away * WIDENS, max(CAP_RADIUS, *flats))
        return np.stack([grid.inside(radius) for radius in edge])

    filled, filled_z = within(grid.z), within(grid.z_faces[1:-1])
    sheets = slice(caps[0].stop, caps[1].start)
    filled[sheets] = 1.0
    filled_z[sheets.start : sheets.stop - 1] = 1.0
    filled_r = np.minimum(filled[:, :-1], filled[:, 1:])
    return Grid(grid.r_faces, grid.z_faces, filled_z, filled_r, filled)


def sunk_radii(stack: Stack, electrode: Electrode) -> tuple[float, float]:
    """Return how far the upper and the lower cap touch once they have sunk into hot sheet, in m.

    Parameters
    ----------
    stack : Stack
        The sheets.
    electrode : Electrode
        The caps; they widen behind their faces.
    """
    first, last = (
        electrode.face_mm / 2000 + _SINKS * WIDENS * stack.sheets[n].thickness_mm / 1000
        for n in (0, -1)
    )
    return first, last


def start_radius(electrode: Electrode, force: float) -> float:
    """Return how far a cap touches the cold sheet, in m: its flat face, or as Hertz has it.

    Parameters
    ----------
    electrode : Electrode
        The caps.
    force : float
        Electrode force, in N.
    """
    face = electrode.face_mm / 2000
    dome = DOME_RADIUS.get(electrode.shape)
    if dome is None:
        return face
    return min(face, float((3 * force * dome / (4 * _STIFFNESS)) ** (1 / 3)))
