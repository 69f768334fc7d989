"""Rings and layers: the grid of an axisymmetric body, in metres."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells between rings and layers; a field has the shape (layers, rings), rings fastest.

    Parameters
    ----------
    r_faces, z_faces : ndarray
        Edges of the rings, from the axis on, and of the layers, rising, in m.
    filled_z, filled_r : ndarray or None
        Share of each face between layers (layers - 1, rings) and between rings
        (layers, rings - 1) that is inside the body; None for all of it.
    filled : ndarray or None
        Share of each cell inside the body; None for all of it.
    """

    r_faces: Field
    z_faces: Field
    filled_z: Field | None = None
    filled_r: Field | None = None
    filled: Field | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Numbers of layers and of rings."""
        return len(self.z_faces) - 1, len(self.r_faces) - 1

    @cached_property
    def r(self) -> Field:
        """Middle of each ring, in m."""
        return (self.r_faces[1:] + self.r_faces[:-1]) / 2

    @cached_property
    def z(self) -> Field:
        """Middle of each layer, in m."""
        return (self.z_faces[1:] + self.z_faces[:-1]) / 2

    @cached_property
    def heights(self) -> Field:
        """Height of each layer, in m."""
        return np.diff(self.z_faces)

    @cached_property
    def ring_areas(self) -> Field:
        """Area of each ring seen from above, in m²."""
        return np.pi * np.diff(self.r_faces**2)

    @cached_property
    def volumes(self) -> Field:
        """Volume of each cell inside the body, in m³; never quite nothing."""
        whole = self.heights[:, None] * self.ring_areas
        return whole if self.filled is None else whole * np.maximum(self.filled, 1e-6)

    @cached_property
    def axial_areas(self) -> Field:
        """Area between each layer and the next, (layers - 1, rings), in m²."""
        whole = np.broadcast_to(self.ring_areas, (self.shape[0] - 1, self.shape[1]))
        return whole if self.filled_z is None else whole * self.filled_z

    @cached_property
    def radial_areas(self) -> Field:
        """Area between each ring and the next, (layers, rings - 1), in m²."""
        whole = 2 * np.pi * self.r_faces[1:-1] * self.heights[:, None]
        return whole if self.filled_r is None else whole * self.filled_r

    def inside(self, radius: float) -> Field:
        """Return the share of each ring that lies within a radius given in m."""
        inner, outer = self.r_faces[:-1] ** 2, self.r_faces[1:] ** 2
        return np.clip((radius**2 - inner) / (outer - inner), 0, 1)


def graded(start: float, end: float, first: float, cells: int) -> Field:
    """Return edges from `start` to `end` whose cells grow evenly from the width `first`.

    Parameters
    ----------
    start, end : float
        First and last edge; `end` may be the smaller one, in m.
    first : float
        Width of the cell at `start`, in m.
    cells : int
        Number of cells.
    """
    length = abs(end - start)
    low, high = 0.5, 3.0
    for _ in range(60):
        middle = (low + high) / 2
        total = first * float(np.sum(middle ** np.arange(cells)))
        low, high = (middle, high) if total < length else (low, middle)
    widths = first * low ** np.arange(cells)
    edges = np.concatenate(([0.0], np.cumsum(widths * length / widths.sum())))
    return np.asarray(start + np.sign(end - start) * edges)


def joined(*pieces: Field) -> Field:
    """Return edges of pieces that follow each other, shared ones once."""
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])
