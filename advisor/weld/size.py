"""The smallest acceptable weld size: k√t, with the governing thickness by a named rule."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.weld.stack import Stack
from advisor.weld.words import TradeWord

#: Minimum sizes are rounded to this before they are compared. Choice of this project: the last
#: digit that calipers show. [mm]
SIZE_STEP_MM = 0.01


class GoverningRule(TradeWord):
    """Which thickness sets the minimum size, and who says so."""

    EACH_INTERFACE = "each_interface", msg("each interface: the thinner of its two sheets")
    WHOLE_STACK = "whole_stack", msg("whole stack: thinner of two, second thickest of three")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("governing-thickness rule")

    @property
    def source(self) -> str:
        """Where the rule is published."""
        if self is GoverningRule.EACH_INTERFACE:
            return say("ISO 14373 / ISO 18278-2 practice, from memory")
        return say("AWS D8.1M:2013, cl. 3")

    def thickness_mm(self, stack: Stack, interface: int) -> float:
        """Return the governing thickness for one interface of a stack.

        Parameters
        ----------
        stack : Stack
            The stack.
        interface : int
            Index of the interface, 0 at the top.

        Returns
        -------
        float
            Governing thickness. [mm]

        Raises
        ------
        InputError
            The rule says nothing about this number of sheets.
        """
        if self is GoverningRule.EACH_INTERFACE:
            return stack.interfaces[interface].thinner_mm
        return stack_governing_mm(stack)


def stack_governing_mm(stack: Stack) -> float:
    """Return the governing metal thickness of a whole stack by AWS D8.1M:2013, cl. 3.

    Two sheets: the thinner. Three: generally the second thickest.

    Returns
    -------
    float
        Governing thickness. [mm]

    Raises
    ------
    InputError
        Four sheets: the clause gives no rule.
    """
    ordered = sorted(stack.thicknesses_mm, reverse=True)
    if len(ordered) > 3:
        raise InputError(
            say(
                "AWS D8.1M:2013 cl. 3 gives no governing thickness for 4 sheets; choose the rule "
                "'{rule}' under Shop set-up",
                rule=GoverningRule.EACH_INTERFACE.label,
            )
        )
    return ordered[1]


@dataclass(frozen=True)
class SizeRule:
    """Minimum weld size k√t.

    Parameters
    ----------
    k : float
        Factor, 3.5 to 6, with t and the size in mm; 3.5 is the smallest that any source gives
        (ISO 14373 / ISO 18278-2 practice, from memory; TWI FAQ: 70 % of 5√t). [mm^0.5]
    governing : GoverningRule
        Which thickness is t.
    """

    k: float = 4.0
    governing: GoverningRule = GoverningRule.EACH_INTERFACE

    def __post_init__(self) -> None:
        if not 3.5 <= self.k <= 6:
            raise InputError(
                say(
                    "k is {k:g}; it must be 3.5 to 6 with t in mm (usual: 3.5, 4 or 5; in inches "
                    "4√t is 0.794√t, but this tool keeps k in mm)",
                    k=self.k,
                )
            )

    def minimum_mm(self, stack: Stack, interface: int) -> float:
        """Return the minimum size at one interface, rounded to 0.01. [mm]."""
        return minimum_size_mm(self.governing.thickness_mm(stack, interface), self.k)

    def formula(self, stack: Stack, interface: int) -> str:
        """Return the minimum as it is written on the bench, for example ``4√1.2``."""
        thickness = self.governing.thickness_mm(stack, interface)
        return f"{figure(self.k, 'g')}√{figure(thickness, 'g')}"


def minimum_size_mm(thickness_mm: float, k: float = 4.0) -> float:
    """Return k√t, rounded to 0.01 mm as tables print it.

    Parameters
    ----------
    thickness_mm : float
        Governing thickness. [mm]
    k : float
        Factor with both lengths in mm; in inches it would be k/√25.4. [mm^0.5]

    Returns
    -------
    float
        Smallest acceptable weld size. [mm]
    """
    if not thickness_mm > 0:
        raise InputError(
            say(
                "governing thickness is {thickness:g} mm; it must be positive",
                thickness=thickness_mm,
            )
        )
    return round(k * math.sqrt(thickness_mm), 2)


def button_size_mm(smallest_mm: float, largest_mm: float) -> float:
    """Return the button size, (largest + smallest) / 2 (AWS D8.1M:2013, cl. 3). [mm].

    Parameters
    ----------
    smallest_mm, largest_mm : float
        Smallest and largest dimension. [mm]
    """
    return (smallest_mm + largest_mm) / 2


def aspect_ratio(smallest_mm: float, largest_mm: float) -> float:
    """Return largest / smallest dimension, a plain number (AWS D8.1M:2013, cl. 3).

    Parameters
    ----------
    smallest_mm, largest_mm : float
        Smallest and largest dimension. [mm]
    """
    return largest_mm / smallest_mm
