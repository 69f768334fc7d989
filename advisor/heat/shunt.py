"""How much of the current an earlier weld takes: a simple estimate.

The current of the neighbour runs through every outer sheet from the one weld to the other. Between
two discs of the weld's diameter in a wide cold sheet the resistance is ρ/(πt)·arcosh(pitch/d); the
neighbour itself adds little and is left out, as are sheets between the outer ones.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.heat.properties import ROOM_DEGC, steel
from advisor.weld.stack import Stack


def shunt_resistance(stack: Stack, pitch_mm: float | None, neighbour_mm: float) -> float:
    """Return the resistance of the way through a neighbour weld in Ω; infinite without one.

    Parameters
    ----------
    stack : Stack
        The sheets.
    pitch_mm : float or None
        Distance of the welds, centre to centre. [mm]
    neighbour_mm : float
        Diameter of the neighbour. [mm]
    """
    if pitch_mm is None:
        return math.inf
    wide = math.acosh(pitch_mm / neighbour_mm) / math.pi
    cold = np.array([ROOM_DEGC])
    return sum(
        float(steel(sheet.family).resists(cold)[0]) / (sheet.thickness_mm / 1000) * wide
        for sheet in (stack.sheets[0], stack.sheets[-1])
    )
