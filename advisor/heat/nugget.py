"""What has melted: radii and depths of the liquidus isotherm, between the middles of cells."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.heat.mesh import Grid
from advisor.heat.properties import LIQUIDUS_DEGC

Field = NDArray[np.float64]
#: Points at which a sheet is looked at through its thickness.
_POINTS = 200


def outermost(places: Field, warm: Field, level: float = LIQUIDUS_DEGC) -> float:
    """Return the outermost place at which a profile falls through a level; 0 where it is below.

    Parameters
    ----------
    places : ndarray of shape (n,)
        Rising places, in any unit.
    warm : ndarray of shape (n,)
        Temperature there, in °C.
    level : float
        The level, in °C.
    """
    above = np.flatnonzero(warm >= level)
    if not above.size:
        return 0.0
    last = int(above[-1])
    if last + 1 == len(warm):
        return float(places[last])
    share = (warm[last] - level) / (warm[last] - warm[last + 1])
    return float(places[last] + share * (places[last + 1] - places[last]))


def melt_diameter_mm(grid: Grid, warm: Field, layer: int) -> float:
    """Return the diameter of the melt where one layer of cells meets the next. [mm].

    Parameters
    ----------
    grid : Grid
        The cells.
    warm : ndarray of shape (layers, rings)
        Temperature, in °C.
    layer : int
        Layer before the interface.
    """
    return 2000 * outermost(grid.r, interface_temperature(warm, layer))


def interface_temperature(warm: Field, layer: int) -> Field:
    """Return the temperature of each ring between a layer of cells and the next, in °C."""
    return np.asarray((warm[layer] + warm[layer + 1]) / 2)


def molten_share(grid: Grid, hottest: Field, layers: slice, radius: float) -> float:
    """Return the largest share of a sheet's thickness that melted near the axis.

    At the edge of a face that is calculated as sharp the current crowds and a ring of the surface
    melts; that is not what a section through a weld is measured for, and is left out.

    Parameters
    ----------
    grid : Grid
        The cells.
    hottest : ndarray of shape (layers, rings)
        Hottest that each cell has been, in °C.
    layers : slice
        Layers of the sheet.
    radius : float
        How far from the axis it is looked for, in m.
    """
    edges = grid.z_faces[layers.start : layers.stop + 1]
    fine = edges[0] + (np.arange(_POINTS) + 0.5) / _POINTS * (edges[-1] - edges[0])
    places = np.concatenate((edges[:1], grid.z[layers], edges[-1:]))
    inside = hottest[layers, : int(np.searchsorted(grid.r, radius))]
    first, last = 1.5 * inside[0] - 0.5 * inside[1], 1.5 * inside[-1] - 0.5 * inside[-2]
    warm = np.vstack((first, inside, last))
    return max(float(np.mean(np.interp(fine, places, ring) >= LIQUIDUS_DEGC)) for ring in warm.T)
