"""For the class: how the published start moves with thickness."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from advisor.weld.published import Schedule, published_start
from advisor.weld.sheet import THICKEST_MM, THINNEST_MM, Sheet, Surface
from advisor.weld.size import minimum_size_mm
from advisor.weld.stack import Stack

_QUANTITIES = ("current_kA", "weld_ms", "force_kN")


def thickness_curve(
    surface: Surface,
    schedule: Schedule = Schedule.HIGH_FORCE,
    thicknesses_mm: Sequence[float] | None = None,
) -> pd.DataFrame:
    """Return published band and start for two equal sheets against their thickness.

    Parameters
    ----------
    surface : Surface
        What all four faces carry.
    schedule : Schedule
        Columns for uncoated steel; zinc has its own.
    thicknesses_mm : sequence of float or None
        Thicknesses, 0.4 to 3.0; None for every 0.05 mm of that range. [mm]

    Returns
    -------
    DataFrame of shape (n_thicknesses, 11)
        ``thickness_mm``; ``current_kA``, ``weld_ms`` and ``force_kN``, each with ``_low``,
        ``_start`` and ``_high``; ``minimum_mm``, which is 4√t. [mm], [kA], [ms], [kN]

    Raises
    ------
    NoAdviceError
        Nothing published for this surface.
    InputError
        A thickness outside the range.
    """
    if thicknesses_mm is None:
        steps = round((THICKEST_MM - THINNEST_MM) / 0.05) + 1
        thicknesses_mm = np.round(np.linspace(THINNEST_MM, THICKEST_MM, steps), 2).tolist()
    return pd.DataFrame([_point(t, surface, schedule) for t in thicknesses_mm])


def _point(thickness_mm: float, surface: Surface, schedule: Schedule) -> dict[str, float]:
    sheet = Sheet(thickness_mm, upper=surface, lower=surface)
    start = published_start(Stack((sheet, sheet)), schedule)
    point = {"thickness_mm": thickness_mm}
    for name in _QUANTITIES:
        band = getattr(start.row, name)
        point[f"{name}_low"] = band.low
        point[f"{name}_start"] = getattr(start, name)
        point[f"{name}_high"] = band.high
    return point | {"minimum_mm": minimum_size_mm(thickness_mm)}
