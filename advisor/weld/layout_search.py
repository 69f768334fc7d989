"""The exact search for new places along one line.

Numbers only: what may stand where is worked out in `layout_flange`. With the places given as
intervals, a row is described by ``t = place - (sum of the smallest distances before it)``, which
may only rise along the row. For a fixed interval per weld the least sum of squares is then the
regression of a rising sequence between bounds: every run of equal ``t`` lies at a bound of one of
its welds or at the mean of what its welds want. So a finite list of values holds the best row, and
the best path through that list is found exactly.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
#: Far below what anybody marks out, far above what adding up a row loses. Choice of this project.
#: [mm]
TOLERANCE_MM = 1e-9
_HALVINGS = 60
#: Weights that only break ties of the sum of squares: first the pitch, then the flange's ends.
_PITCH_WEIGHT, _MIDDLE_WEIGHT = 1e-7, 1e-11


@dataclass(frozen=True)
class Line:
    """One row to be placed on one line.

    Parameters
    ----------
    old_mm : ndarray of shape (n,)
        Original places, rising. [mm]
    free_mm : ndarray of shape (m, 2)
        Where the centre of a new weld may stand: from, to; rising. [mm]
    apart_mm : ndarray of shape (n - 1,)
        Smallest distance of each two neighbours. [mm]
    """

    old_mm: Numbers
    free_mm: Numbers
    apart_mm: Numbers

    @property
    def before_mm(self) -> Numbers:
        """Sum of the smallest distances before each weld, shape (n,). [mm]."""
        return np.concatenate([[0.0], np.cumsum(self.apart_mm)])

    def is_free(self, places_mm: Numbers) -> NDArray[np.bool_]:
        """Whether the centre of a weld may stand at each of these places.

        Parameters
        ----------
        places_mm : ndarray
            Places along the line. [mm]
        """
        inside = (places_mm[..., None] >= self.free_mm[:, 0] - TOLERANCE_MM) & (
            places_mm[..., None] <= self.free_mm[:, 1] + TOLERANCE_MM
        )
        return np.asarray(inside.any(axis=-1))


def free_intervals(
    low_mm: float, high_mm: float, taken_mm: Iterable[tuple[float, float]]
) -> Numbers:
    """Return what is left of a line once the taken parts are cut out.

    Parameters
    ----------
    low_mm, high_mm : float
        Ends of the line. [mm]
    taken_mm : iterable of (float, float)
        Open intervals in which nothing may stand, in any order. [mm]

    Returns
    -------
    ndarray of shape (m, 2)
        Closed intervals, rising; a single point counts. [mm]
    """
    left, start = [], low_mm
    for first, last in sorted(taken_mm):
        end = min(first, high_mm)
        if end >= start - TOLERANCE_MM:
            left.append((start, max(start, end)))
        start = max(start, last)
    if start <= high_mm + TOLERANCE_MM:
        left.append((start, max(start, high_mm)))
    return np.array(left, dtype=float).reshape(-1, 2)


def packed(line: Line, reach_mm: float) -> list[float]:
    """Return the row as far to the low end as it goes, as many welds of it as find a place.

    Parameters
    ----------
    line : Line
        The row.
    reach_mm : float
        How far a weld may be from its original place. [mm]

    Returns
    -------
    list of float
        Places; shorter than the row where no row exists within this reach. [mm]
    """
    places: list[float] = []
    apart = [0.0, *line.apart_mm]
    for old, least in zip(line.old_mm, apart, strict=True):
        start = max(old - reach_mm, places[-1] + least if places else -np.inf)
        later = line.free_mm[line.free_mm[:, 1] >= start - TOLERANCE_MM]
        if not len(later) or max(start, later[0, 0]) > old + reach_mm:
            break
        places.append(float(max(start, later[0, 0])))
    return places


def has_room(line: Line) -> bool:
    """Whether any row exists on the line, however far the welds move."""
    return len(packed(line, np.inf)) == len(line.old_mm)


def shortest_reach_mm(line: Line) -> float:
    """Return the smallest possible largest shift [mm] of a row that has room."""
    low, high = -TOLERANCE_MM, float(np.ptp(np.append(line.free_mm, line.old_mm))) + 1
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if len(packed(line, middle)) == len(line.old_mm):
            high = middle
        else:
            low = middle
    return high + 2 * TOLERANCE_MM  # what `packed` may have borrowed at both of its ends


def alike_mm(line: Line) -> float | None:
    """Return the shortest shift [mm] that serves every weld alike; None where none does."""
    if not len(line.free_mm) or (np.diff(line.old_mm) < line.apart_mm - TOLERANCE_MM).any():
        return None
    low, high = line.free_mm[0, 0] - line.old_mm[0], line.free_mm[-1, 1] - line.old_mm[-1]
    between = line.free_mm.ravel()[1:-1].reshape(-1, 2)
    taken = (between[:, None, :] - line.old_mm[:, None]).reshape(-1, 2)
    shifts = free_intervals(float(low), float(high), ((a, b) for a, b in taken))
    nearest = [float(np.clip(0.0, first, last)) for first, last in shifts]
    return min(nearest, key=abs, default=None)


def best_row(line: Line, middle_mm: float) -> Numbers:
    """Return the best row: least largest shift, then least sum of squared shifts.

    Ties go to the row that changes the pitch least (sum of squared changes), then to the one
    nearest to the middle. The ties are broken by small weights: a sum of squares worse by less
    than about 0.01 mm² counts as a tie.

    Parameters
    ----------
    line : Line
        A row that has room.
    middle_mm : float
        Middle between the flange's ends. [mm]

    Returns
    -------
    ndarray of shape (n,)
        Places, rising. [mm]
    """
    choices = _candidates(line, shortest_reach_mm(line))
    before, n = line.before_mm, len(line.old_mm)
    total: Numbers = np.zeros(1)
    last_t, last_shift = np.array([-np.inf]), np.zeros(1)
    came_from: list[NDArray[np.intp]] = []
    for i in range(n):
        # Rounded, so that places that differ by the tolerance only cost the same.
        place = np.round(choices[i] + before[i], 6)
        shift = place - line.old_mm[i]
        change = (shift - last_shift[:, None]) ** 2 if i else np.zeros((1, len(place)))
        step = np.where(
            choices[i] >= last_t[:, None] - TOLERANCE_MM, _PITCH_WEIGHT * change, np.inf
        )
        paths = total[:, None] + step
        came_from.append(paths.argmin(axis=0))
        total = paths.min(axis=0) + shift**2 + _MIDDLE_WEIGHT * (place - middle_mm) ** 2
        last_t, last_shift = choices[i], shift
    at = int(total.argmin())
    row = np.empty(n)
    for i in range(n - 1, -1, -1):
        row[i] = choices[i][at] + before[i]
        at = int(came_from[i][at])
    return row


def _candidates(line: Line, reach_mm: float) -> list[Numbers]:
    """Return for each weld the values of t that the best row can have."""
    before = line.before_mm
    wanted, ends = line.old_mm - before, line.free_mm.ravel()[:, None]
    at_ends = (ends - before)[np.abs(ends - line.old_mm) <= reach_mm + TOLERANCE_MM]
    sums = np.concatenate([[0.0], np.cumsum(wanted)])
    first, last = np.triu_indices(len(wanted) + 1, 1)
    # Welds whose wishes are farther apart than this are never in one run.
    near_each_other = np.abs(wanted[first] - wanted[last - 1]) <= 2 * (reach_mm + TOLERANCE_MM)
    first, last = first[near_each_other], last[near_each_other]
    means = (sums[last] - sums[first]) / (last - first)
    every = np.concatenate([at_ends, wanted - reach_mm, wanted + reach_mm, means])
    every = np.unique(np.round(every, 10))
    found = []
    for i, old in enumerate(line.old_mm):
        near = every[np.abs(every + before[i] - old) <= reach_mm + TOLERANCE_MM]
        found.append(near[line.is_free(near + before[i])])
    return found
