"""The way of the current through a neighbour weld."""

import math

import numpy as np
import pytest

from advisor.heat.body import make_body
from advisor.heat.properties import steel
from advisor.heat.shunt import added_by_heat, shunt_resistance
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

STACK = Stack((Sheet(1.0), Sheet(1.5)))
BODY = make_body(STACK, Electrode(CapShape.FLAT, 6.0), 1.0, 1.0)


def resistivity(degC):
    return float(steel().resists(np.array([degC]))[0])


def test_cold_sheets_add_nothing():
    cold = BODY.conducts_current(np.full(BODY.grid.shape, 20.0))
    assert added_by_heat(BODY, STACK, cold, 5.0) == pytest.approx(0, abs=1e-15)


def test_evenly_hot_sheets_add_what_two_coaxial_cylinders_do():
    """Radial flow between two radii in a sheet: R = (ρ / 2πt) ln(outer / inner), exact."""
    hot = BODY.conducts_current(np.full(BODY.grid.shape, 600.0))
    wide = math.log(BODY.grid.r_faces[-1] / 2.5e-3) / (2 * math.pi)
    more = resistivity(600.0) - resistivity(20.0)
    exact = more * wide * (1 / 1.0e-3 + 1 / 1.5e-3)
    assert added_by_heat(BODY, STACK, hot, 5.0) == pytest.approx(exact, rel=1e-9)


def test_the_cold_way_is_the_one_between_two_discs_in_wide_sheet():
    """R = ρ arcosh(pitch / d) / (πt) a sheet, exact for two equal discs in an infinite sheet."""
    found = shunt_resistance(STACK, 20.0, 5.0)
    exact = resistivity(20.0) * math.acosh(4) / math.pi * (1 / 1.0e-3 + 1 / 1.5e-3)
    assert found == pytest.approx(exact, rel=1e-12)
    assert math.isinf(shunt_resistance(STACK, None, 5.0))
