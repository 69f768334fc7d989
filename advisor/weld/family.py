"""Families of stacks: few enough to compare, alike enough to be compared."""

from __future__ import annotations

from advisor.weld.sheet import Surface
from advisor.weld.stack import Stack

#: Bounds of the thinnest sheet between families (common practice, no source). [mm]
THIN_MM, THICK_MM = 0.9, 1.4
_BARE = frozenset({Surface.BARE, Surface.GROUND_BARE})
_ZINC = frozenset({Surface.HOT_DIP_ZINC, Surface.ELECTRO_ZINC, Surface.GALVANNEALED})


def stack_family(stack: Stack) -> str:
    """Return the family of a stack: number of sheets, thinnest sheet, what the faces carry.

    Parameters
    ----------
    stack : Stack
        The stack, either way up.

    Returns
    -------
    str
        For example ``3 sheets, thinnest under 0.9 mm, zinc``.
    """
    count = len(stack.sheets)
    return f"{count} sheets, thinnest {_thickness(min(stack.thicknesses_mm))}, {_carries(stack)}"


def _thickness(thinnest_mm: float) -> str:
    if thinnest_mm < THIN_MM:
        return f"under {THIN_MM:g} mm"
    if thinnest_mm < THICK_MM:
        return f"{THIN_MM:g} to {THICK_MM:g} mm"
    return f"{THICK_MM:g} mm or more"


def _carries(stack: Stack) -> str:
    """Return what matters most of what the faces carry."""
    faces = {face for sheet in stack.sheets for face in (sheet.upper, sheet.lower)}
    if faces <= _BARE:
        return "bare"
    if faces <= _BARE | _ZINC:
        return "zinc"
    return "other surfaces"
