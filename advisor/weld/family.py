"""Families of stacks: few enough to compare, alike enough to be compared."""

from __future__ import annotations

from advisor.language import say
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
    return say(
        "{count} sheets, thinnest {thickness}, {carries}",
        count=len(stack.sheets),
        thickness=_thickness(min(stack.thicknesses_mm)),
        carries=_carries(stack),
    )


def _thickness(thinnest_mm: float) -> str:
    if thinnest_mm < THIN_MM:
        return say("under {thin:g} mm", thin=THIN_MM)
    if thinnest_mm < THICK_MM:
        return say("{thin:g} to {thick:g} mm", thin=THIN_MM, thick=THICK_MM)
    return say("{thick:g} mm or more", thick=THICK_MM)


def _carries(stack: Stack) -> str:
    """Return what matters most of what the faces carry."""
    faces = {face for sheet in stack.sheets for face in (sheet.upper, sheet.lower)}
    if faces <= _BARE:
        return say("bare")
    if faces <= _BARE | _ZINC:
        return say("zinc")
    return say("other surfaces")
