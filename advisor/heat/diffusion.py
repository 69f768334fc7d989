"""Finite volumes for whatever flows down a gradient: current and heat.

Two cells are joined by a link: half of the one, a contact if there is one, half of the other, one
behind the other. The symmetric matrix of all links is banded with the number of rings as its
width, and LAPACK's banded Cholesky solves it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

from advisor.heat.mesh import Grid

Field = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Links:
    """How well each cell is joined to the next.

    Parameters
    ----------
    axial, radial : ndarray
        Conductance between layers (layers - 1, rings) and rings (layers, rings - 1).
    axial_share, radial_share : ndarray
        Share of the resistance of a link that belongs to its first cell.
    ends : ndarray of shape (2, rings)
        Conductance from the middle of the first and of the last layer to their outer faces.
    """

    axial: Field
    radial: Field
    axial_share: Field
    radial_share: Field
    ends: Field


class Heated(Protocol):
    """What a heat step has to know of a body."""

    def temperature(self, enthalpy: Field) -> Field:
        """Return the temperature of each cell from its heat."""

    def slope(self, warm: Field) -> Field:
        """Return dH/dT of each cell at temperatures in °C."""


def links(
    grid: Grid,
    conducts: Field,
    contacts: Sequence[tuple[int, Field, Field]] = (),
    open_ends: bool = True,
) -> Links:
    """Return the links of a body.

    Parameters
    ----------
    grid : Grid
        The cells.
    conducts : ndarray of shape (layers, rings)
        Conductivity of each cell.
    contacts : sequence of tuple
        For each contact: number of the layer before it, resistance times area of each ring, and
        the share of each ring that touches.
    open_ends : bool
        Whether anything flows through the outer faces of the first and last layer.
    """
    half = grid.heights[:, None] / 2 / conducts
    before, after = half[:-1].copy(), half[1:].copy()
    areas = grid.axial_areas
    if contacts:
        areas = areas.copy()
    for layer, resists, touches in contacts:
        before[layer] += resists / 2
        after[layer] += resists / 2
        areas[layer] = areas[layer] * touches
    inner = (grid.r_faces[1:-1] - grid.r[:-1]) / conducts[:, :-1]
    outer = (grid.r[1:] - grid.r_faces[1:-1]) / conducts[:, 1:]
    ends = grid.ring_areas / half[[0, -1]] if open_ends else np.zeros((2, grid.shape[1]))
    if grid.filled is not None:
        ends = ends * (grid.filled[[0, -1]] > 0.5)
    return Links(
        areas / (before + after),
        grid.radial_areas / (inner + outer),
        before / (before + after),
        inner / (inner + outer),
        ends,
    )


def band(joined: Links, diagonal: Field | float = 0.0) -> Field:
    """Return the lower band of the matrix of all links, with something added on its diagonal."""
    layers, rings = joined.radial.shape[0], joined.axial.shape[1]
    found = np.zeros((rings + 1, layers * rings))
    main = found[0].reshape(layers, rings)
    main += diagonal
    main[:-1] += joined.axial
    main[1:] += joined.axial
    main[:, :-1] += joined.radial
    main[:, 1:] += joined.radial
    main[0] += joined.ends[0]
    main[-1] += joined.ends[1]
    if rings > 1:
        found[1].reshape(layers, rings)[:, :-1] = -joined.radial
    found[rings].reshape(layers, rings)[:-1] = -joined.axial
    return found


def solve(matrix: Field, right: Field) -> Field:
    """Return the field that the matrix of `band` turns into `right`."""
    found = solveh_banded(matrix, right.ravel(), lower=True, overwrite_ab=True, check_finite=False)
    return np.asarray(found).reshape(right.shape)


def steady(
    joined: Links, first: Field | float, last: Field | float, source: float | Field = 0.0
) -> Field:
    """Return the steady field between two values held at the outer faces.

    Parameters
    ----------
    joined : Links
        The body.
    first, last : float or ndarray of shape (rings,)
        Values held at the outer face of the first and of the last layer.
    source : float or ndarray
        What each cell gives off.
    """
    right = np.zeros((joined.radial.shape[0], joined.axial.shape[1])) + source
    right[0] += joined.ends[0] * first
    right[-1] += joined.ends[1] * last
    matrix = band(joined)
    alone = matrix[0] <= 0
    matrix[0, alone] = 1.0
    return solve(matrix, right)


def given_off(joined: Links, field: Field, first: float, last: float) -> Field:
    """Return flow times drop in each cell: Joule heat when the field is a potential."""
    axial = joined.axial * np.diff(field, axis=0) ** 2
    radial = joined.radial * np.diff(field, axis=1) ** 2
    found = np.zeros_like(field)
    found[:-1] += axial * joined.axial_share
    found[1:] += axial * (1 - joined.axial_share)
    found[:, :-1] += radial * joined.radial_share
    found[:, 1:] += radial * (1 - joined.radial_share)
    found[0] += joined.ends[0] * (field[0] - first) ** 2
    found[-1] += joined.ends[1] * (field[-1] - last) ** 2
    return found


def heat_step(
    body: Heated,
    volumes: Field,
    joined: Links,
    enthalpy: Field,
    source: Field | float,
    seconds: float,
    outside: tuple[float, float] = (20.0, 20.0),
    passes: int = 2,
) -> tuple[Field, Field, float]:
    """Carry the heat in a body on by one implicit step.

    Each pass solves for temperatures with dH/dT of the last and then changes the heat by exactly
    what flowed, so that no heat is lost however large the step across the melting range is.

    Parameters
    ----------
    body : Heated
        Heat and temperature of each cell.
    volumes : ndarray
        Volume of each cell, in m³.
    joined : Links
        The links for heat, in W/K.
    enthalpy : ndarray
        Heat at the start of the step, in J/m³.
    source : ndarray or float
        Heat made in each cell, in W.
    seconds : float
        Length of the step, in s.
    outside : tuple of float
        Temperatures held at the outer faces of the first and last layer, in °C.
    passes : int
        Number of passes.

    Returns
    -------
    enthalpy, temperature : ndarray
        At the end of the step, in J/m³ and °C.
    out : float
        Heat that left through the outer faces, in J.
    """
    now, warm = enthalpy, body.temperature(enthalpy)
    ends = joined.ends * np.array(outside)[:, None]
    for _ in range(passes):
        slope = body.slope(warm)
        carries = volumes * slope / seconds
        right = carries * warm - volumes * (now - enthalpy) / seconds + source
        right[0] += ends[0]
        right[-1] += ends[1]
        solved = solve(band(joined, carries), right)
        now = now + slope * (solved - warm)
        warm = body.temperature(now)
    out = float(np.sum(joined.ends * solved[[0, -1]] - ends)) * seconds
    return now, warm, out
