"""Where metal touches metal: how far, and how well current and heat get across.

How far: wherever two faces touch they flow, so the contact reaches to the radius inside which the
flow stress, at the temperature it has there, bears the force. A hot middle bears little, so the
contact grows while the metal softens; it never shrinks, and its limit is what the electrodes can
press together, and under a cap how far the cap widens where it has sunk in. How well: a film that
breaks down with pressure and heat, and the constriction of the current into the spots that touch,
which rises with the resistivity and falls as they flatten, to nothing where the metal has fused.
The film's decay over 250 K and everything about zinc are from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.heat.mesh import Grid
from advisor.heat.parameters import ContactParameters
from advisor.heat.properties import ROOM_DEGC, SOLIDUS_DEGC, Material

Field = NDArray[np.float64]
#: Pressure that the resistances are given for, in Pa.
_REFERENCE_PRESSURE = 100e6
#: From memory. [degC]
_FILM_DECAY_DEGC, ZINC_MELTS_DEGC = 250.0, 420.0
#: Voltage at which an iron contact melts, after Holm, from memory, in V.
_MELTING_VOLTAGE = 0.6
#: Wiedemann and Franz, in WΩ/K²: spots that carry current carry heat.
_LORENZ = 2.44e-8
#: A film keeps current back, hardly heat. A contact conducts at least so much, in W/m²K.
_LEAST_HEAT, _MOST_HEAT = 2e4, 1e8
#: Factors of zinc on film and constriction: it is soft and its film is thin. From memory.
ZINC_FILM, ZINC_CONSTRICTION = 0.2, 0.5
#: How far molten zinc carries the current beyond a contact between sheets, as a share of the
#: radius of the electrode face; no farther than it is molten. From memory.
ZINC_RING = 0.2


@dataclass(eq=False)
class Contact:
    """One contact of the stack.

    Parameters
    ----------
    layer : int
        Layer of cells before it.
    metal : Material
        The softer steel beside it.
    sides : tuple of Material
        What the current is constricted in, above and below.
    start, limit : float
        Smallest and largest radius, in m.
    film, constriction : float
        Cold resistance of the film in Ωm² and length of the constriction in m, both at 100 MPa.
    ring : float
        How far molten zinc reaches beyond the contact, in m; 0 without zinc.
    radius : float
        How far it touches now, in m.
    hottest : ndarray
        Hottest that each ring has been, in °C.
    """

    layer: int
    metal: Material
    sides: tuple[Material, Material]
    start: float
    limit: float
    film: float
    constriction: float
    ring: float
    radius: float
    hottest: Field

    def grow(self, grid: Grid, warm: Field, force: float, yielding: float) -> None:
        """Let the contact flow until it bears the force.

        Parameters
        ----------
        grid : Grid
            The cells.
        warm : ndarray of shape (rings,)
            Temperature of the contact, in °C.
        force : float
            Electrode force, in N.
        yielding : float
            Share of the flow stress that is borne.
        """
        np.maximum(self.hottest, warm, out=self.hottest)
        bearing = bearing_radius(grid, yielding * self.metal.flows_at(warm), force)
        self.radius = float(np.clip(bearing, max(self.start, self.radius), self.limit))

    def touches(self, grid: Grid) -> Field:
        """Return the share of each ring that carries current and heat."""
        if self.ring <= 0:
            return grid.inside(self.radius)
        molten = grid.r_faces[1:][self.hottest > ZINC_MELTS_DEGC]
        reach = float(molten.max()) if molten.size else 0.0
        return grid.inside(max(self.radius, min(reach, self.radius + self.ring)))

    def resists(self, warm: Field, force: float, current: float) -> Field:
        """Return resistance times area of each ring in Ωm².

        Parameters
        ----------
        warm : ndarray of shape (rings,)
            Temperature of the contact, in °C.
        force, current : float
            In N and in A: a film breaks down where the current would need more than the melting
            voltage.
        """
        eased = _REFERENCE_PRESSURE * np.pi * self.radius**2 / force
        film = self.film * eased * np.exp(-(self.hottest - ROOM_DEGC) / _FILM_DECAY_DEGC)
        film *= self.hottest < SOLIDUS_DEGC
        film = np.minimum(film, _MELTING_VOLTAGE * np.pi * self.radius**2 / current)
        return np.asarray(film + self._spots(warm) * np.sqrt(eased))

    def keeps_heat(self, warm: Field, force: float) -> Field:
        """Return temperature drop over heat flow of each ring, in m²K/W."""
        eased = _REFERENCE_PRESSURE * np.pi * self.radius**2 / force
        spots = np.maximum(self._spots(warm) * np.sqrt(eased), 1e-16)
        passes = _LORENZ * (warm + 273.15) / spots
        return np.asarray(1 / np.clip(passes, _LEAST_HEAT, _MOST_HEAT))

    def _spots(self, warm: Field) -> Field:
        flows = self.metal.flows_at(self.hottest)
        rest, cold = self.metal.flows_at(np.array([SOLIDUS_DEGC, ROOM_DEGC]))
        flattened = np.sqrt(np.maximum(flows - rest, 0) / (cold - rest))
        resists = sum(each.resists(warm) for each in self.sides) / 2
        return np.asarray(self.constriction * resists * flattened)


def bearing_radius(grid: Grid, bears: Field, force: float) -> float:
    """Return the radius inside which a stress bears a force; infinite where none does.

    Parameters
    ----------
    grid : Grid
        The rings.
    bears : ndarray of shape (rings,)
        Stress that each ring bears, in Pa.
    force : float
        Force, in N.
    """
    summed = np.concatenate(([0.0], np.cumsum(bears * grid.ring_areas)))
    if summed[-1] < force:
        return float("inf")
    return float(np.sqrt(np.interp(force, summed, grid.r_faces**2)))


def make_contact(
    grid: Grid,
    layer: int,
    metal: Material,
    sides: tuple[Material, Material],
    reach: tuple[float, float],
    fitted: ContactParameters,
    *,
    electrode: bool,
    zinc: float,
    factor: float = 1.0,
) -> Contact:
    """Return a cold contact.

    Parameters
    ----------
    grid : Grid
        The cells.
    layer : int
        Layer of cells before it.
    metal : Material
        The softer steel beside it.
    sides : tuple of Material
        What touches, above and below: a spot's resistance is half in the one, half in the other
        (Holm), and the copper alloy's half is small.
    reach : tuple of float
        Smallest and largest radius, in m.
    fitted : ContactParameters
        The fitted figures.
    electrode : bool
        Whether an electrode touches a sheet here, not two sheets each other.
    zinc : float
        Radius of the electrode face in m where there is zinc, 0 where there is none.
    factor : float
        Factor on the resistances.
    """
    film, spots = fitted.film * 1e-6 * factor, fitted.constriction * 1e-3 * factor
    if zinc:
        film, spots = film * ZINC_FILM, spots * ZINC_CONSTRICTION
    ring = 0.0 if electrode else ZINC_RING * zinc
    cold = np.full(grid.shape[1], ROOM_DEGC)
    return Contact(layer, metal, sides, *reach, film, spots, ring, reach[0], cold)
