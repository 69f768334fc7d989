"""How much of the current an earlier weld takes: a simple estimate.

The current of the neighbour runs through both outer sheets from the one weld to the other. Between
two discs of the weld's diameter in a wide cold sheet the resistance is ρ/(πt)·arcosh(pitch/d). What
this weld has heated around itself resists more; the neighbour itself adds little and is left out,
as are sheets between the outer ones.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from advisor.heat.body import Body
from advisor.heat.properties import ROOM_DEGC, steel
from advisor.weld.stack import Stack


def shunt_resistance(stack: Stack, pitch_mm: float | None, neighbour_mm: float) -> float:
    """Return the resistance of the cold way through a neighbour in Ω; infinite without one.

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


def added_by_heat(
    body: Body, stack: Stack, conducts: NDArray[np.float64], neighbour_mm: float
) -> float:
    """Return what the hot metal around this weld adds to the way through its neighbour, in Ω.

    Parameters
    ----------
    body : Body
        The cells.
    stack : Stack
        The sheets.
    conducts : ndarray of shape (layers, rings)
        Electric conductivity of each cell now, in S/m.
    neighbour_mm : float
        Diameter of the neighbour, taken for this weld's too. [mm]
    """
    faces, least = body.grid.r_faces, neighbour_mm / 2000
    inner, outer = np.maximum(faces[:-1], least), np.maximum(faces[1:], least)
    added = 0.0
    for number in (0, -1):
        layers = body.sheets[number]
        sheet = np.mean(conducts[layers], axis=0)
        cold = steel(stack.sheets[number].family).resists(np.array([ROOM_DEGC]))
        thickness = stack.sheets[number].thickness_mm / 1000
        added += float(np.sum((1 / sheet - cold) * np.log(outer / inner))) / (
            2 * math.pi * thickness
        )
    return added
