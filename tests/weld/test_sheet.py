"""Sheets: what is accepted, and what the refusals say."""

import math

import pytest
from hypothesis import given
from strategies import sheets

from advisor.errors import InputError
from advisor.weld.sheet import Sheet, SteelFamily, Surface, check_thickness


@pytest.mark.parametrize("thickness_mm", [0.4, 0.63, 1.2, 3.0, 0.4 - 1e-12, 3.0 + 1e-12])
def test_the_published_range_is_accepted_to_its_ends(thickness_mm):
    assert Sheet(thickness_mm).thickness_mm == thickness_mm


@pytest.mark.parametrize("thickness_mm", [-1.2, 0.0, math.nan])
def test_thickness_must_be_positive(thickness_mm):
    with pytest.raises(InputError, match=r"mm; it must be positive, 0\.4 to 3 mm: measure"):
        check_thickness(thickness_mm)


@pytest.mark.parametrize("thickness_mm", [0.39, 3.01, 12.0, math.inf])
def test_thickness_outside_the_published_range_names_the_range(thickness_mm):
    with pytest.raises(InputError, match=r"covers 0\.4 to 3 mm \(range of ISO 14373:2015"):
        check_thickness(thickness_mm)


@pytest.mark.parametrize(("typed", "in_mm"), [(0.031, "0.79"), (0.047, "1.19"), (0.118, "3.00")])
def test_inches_typed_as_mm_are_recognised(typed, in_mm):
    said = rf"is {typed} mm; .* if that was inches it is {in_mm} mm: change the unit to in"
    with pytest.raises(InputError, match=said):
        Sheet(typed)


def test_no_inch_hint_where_inches_would_not_fit_either():
    with pytest.raises(InputError, match=r"Annex B\)$"):
        Sheet(0.2)


@pytest.mark.parametrize("text", ["aluminium", "Aluminum 6016", "magnesium", "CFRP"])
def test_what_is_no_steel_is_refused_by_name(text):
    with pytest.raises(InputError, match=rf"{text} is not steel; .* vehicle maker's procedure"):
        SteelFamily.parse(text)


def test_a_coated_steel_is_not_called_aluminium():
    with pytest.raises(InputError, match="'aluminised steel'; it must be one of: low-carbon, "):
        SteelFamily.parse("aluminised steel")


def test_aluminium_silicon_is_a_surface():
    assert Surface.parse("aluminium-silicon") is Surface.ALUMINIUM_SILICON


@given(sheets())
def test_turned_over_twice_is_the_same_sheet(sheet):
    over = sheet.turned_over()
    assert (over.upper, over.lower) == (sheet.lower, sheet.upper)
    assert over.thickness_mm == sheet.thickness_mm
    assert over.turned_over() == sheet
