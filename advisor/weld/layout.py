"""Where the replacement welds of a flange go: near the originals, never on one.

As many welds as before, each clear of every old site, inside the edge distance, and no nearer to
its neighbour than the published spacing, or than the originals where they were nearer. The row
stays at its distance from the edge where it can. That number, pitch and row are kept is common
practice, no source; the vehicle maker's procedure comes first.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

from advisor.weld.layout_flange import Flange, Needs, line_at
from advisor.weld.layout_refusal import refuse_for_sites, refuse_for_size
from advisor.weld.layout_search import alike_mm, best_row, has_room

#: A row that has to leave its line moves by whole steps of this. [mm]
_ACROSS_STEP_MM = 0.1
#: Places are given to 0.000 001 mm; shifts that differ by less than this are the same. Choice of
#: this project: far below what anybody marks out. [mm]
_SAME_MM = 1e-5


@dataclass(frozen=True)
class NewWeld:
    """One new weld and the original it stands for.

    Parameters
    ----------
    number : int
        Its number in the row, from 1.
    old_mm, new_mm : float
        Original and new place along the flange. [mm]
    old_size_mm : float
        Diameter of the old site. [mm]
    """

    number: int
    old_mm: float
    new_mm: float
    old_size_mm: float

    @property
    def shift_mm(self) -> float:
        """Shift along the flange, positive away from the end that is measured from. [mm]."""
        return self.new_mm - self.old_mm


@dataclass(frozen=True)
class Layout:
    """A proposal for the new welds of a flange.

    Parameters
    ----------
    flange : Flange
        The flange with its old sites.
    needs : Needs
        What was kept to.
    row_mm : float
        Distance of the new row from the edge that the old one was measured from. [mm]
    welds : tuple of NewWeld
        One for each original weld, in order.
    alike_mm : float or None
        Shortest shift that serves the whole row alike on this line; None where none does. [mm]
    """

    flange: Flange
    needs: Needs
    row_mm: float
    welds: tuple[NewWeld, ...]
    alike_mm: float | None

    @property
    def across_mm(self) -> float:
        """Shift of the row across the flange, positive away from its edge. [mm]."""
        return self.row_mm - self.flange.row_mm

    @property
    def largest_shift_mm(self) -> float:
        """Largest shift along the flange. [mm]."""
        return max(abs(weld.shift_mm) for weld in self.welds)

    @property
    def moves_alike(self) -> bool:
        """Whether every weld has the same shift, so that the pitch is the original one."""
        shifts = [weld.shift_mm for weld in self.welds]
        return max(shifts) - min(shifts) < _SAME_MM

    @property
    def pitches_mm(self) -> tuple[float, ...]:
        """Distance of each new weld to the next. [mm]."""
        return tuple(b.new_mm - a.new_mm for a, b in pairwise(self.welds))

    def table(self) -> pd.DataFrame:
        """Return one row a weld.

        Returns
        -------
        DataFrame of shape (n, 7)
            ``weld``, ``old_place_mm``, ``new_place_mm``, ``shift_mm`` (along the flange),
            ``old_row_mm``, ``new_row_mm`` (from the edge), ``old_site_mm`` (diameter).
        """
        rows = [
            {
                "weld": weld.number,
                "old_place_mm": weld.old_mm,
                "new_place_mm": weld.new_mm,
                "shift_mm": weld.shift_mm,
                "old_row_mm": self.flange.row_mm,
                "new_row_mm": self.row_mm,
                "old_site_mm": weld.old_size_mm,
            }
            for weld in self.welds
        ]
        return pd.DataFrame(rows)


def propose(flange: Flange, needs: Needs) -> Layout:
    """Return the best layout of as many new welds as there were.

    Parameters
    ----------
    flange : Flange
        The flange with its old sites.
    needs : Needs
        What the new welds need.

    Returns
    -------
    Layout
        The row on the line nearest to its own on which it has room; there with the least largest
        shift, then the least sum of squared shifts, then the least change of pitch, then the
        middle of the flange. Places to 0.000 001 mm.

    Raises
    ------
    NoAdviceError
        No layout exists; the text says what is short by how much.

    Notes
    -----
    The order of the welds is kept. It promises the geometry only, not that the flange carries what
    it carried before.
    """
    refuse_for_size(flange, needs)
    row_mm = _row(flange, needs)
    if row_mm is None:
        refuse_for_sites(flange, needs, max(_ends(flange, needs), key=flange.from_row_mm))
    line = line_at(flange, needs, row_mm)
    places = np.round(best_row(line, flange.length_mm / 2), 6)
    welds = tuple(
        NewWeld(number, site.place_mm, float(place), site.size_mm)
        for number, (site, place) in enumerate(zip(flange.sites, places, strict=True), 1)
    )
    return Layout(flange, needs, row_mm, welds, alike_mm(line))


def _ends(flange: Flange, needs: Needs) -> tuple[float, float]:
    """Return the lines nearest to both edges that keep the edge distance."""
    return needs.edge_mm, max(flange.width_mm - needs.edge_mm, needs.edge_mm)


def _row(flange: Flange, needs: Needs) -> float | None:
    """Return the line nearest to the old row that has room; None where no line has."""
    low, high = _ends(flange, needs)
    near = min(max(flange.row_mm, low), high)
    # The farther a line is from the old row, the less of it the old sites take.
    found = [_first_with_room(flange, needs, near, far) for far in (high, low)]
    return min((row for row in found if row is not None), key=flange.from_row_mm, default=None)


def _first_with_room(flange: Flange, needs: Needs, near: float, far: float) -> float | None:
    steps = math.ceil(abs(far - near) / _ACROSS_STEP_MM)

    def at(step: int) -> float:
        return far if step == steps else near + math.copysign(_ACROSS_STEP_MM * step, far - near)

    def fits(step: int) -> bool:
        return has_room(line_at(flange, needs, at(step)))

    # Towards the nearer edge the old row can be beyond the line: that way there is no more room.
    if not fits(steps):
        return None
    return at(bisect_left(range(steps), True, key=fits))
