"""A stack of 2 to 4 sheets and its interfaces. Turned over, it is the same stack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.words import TradeWord

#: Scope of ISO 14373:2015: thickness ratio up to 3:1.
LARGEST_RATIO = 3.0


class AdhesiveState(TradeWord):
    """State of the adhesive between two sheets at the moment of welding."""

    NONE = "none", msg("no adhesive")
    WET = "wet", msg("wet")
    PART_CURED = "part_cured", msg("part-cured")
    CURED = "cured", msg("cured")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("adhesive state")


@dataclass(frozen=True)
class Bond:
    """What lies between two sheets: no adhesive, or one adhesive in one state."""

    adhesive: str = ""
    state: AdhesiveState = AdhesiveState.NONE

    def __post_init__(self) -> None:
        named = bool(self.adhesive.strip())
        if self.state is AdhesiveState.NONE and named:
            raise InputError(
                say(
                    "the interface names the adhesive {adhesive!r} but says 'no adhesive'; choose "
                    "wet, part-cured or cured, or take the adhesive away",
                    adhesive=self.adhesive,
                )
            )
        if self.state is not AdhesiveState.NONE and not named:
            raise InputError(
                say(
                    "the interface is {state} but names no adhesive; choose the adhesive (the "
                    "shop's list is under Shop set-up)",
                    state=self.state.label,
                )
            )

    @property
    def is_bonded(self) -> bool:
        """Whether there is adhesive."""
        return self.state is not AdhesiveState.NONE

    def __str__(self) -> str:
        """Return the bond in words."""
        return f"{self.adhesive}, {self.state.label}" if self.is_bonded else self.state.label


UNBONDED = Bond()


@dataclass(frozen=True)
class Interface:
    """Where two sheets of a stack meet."""

    upper_sheet: Sheet
    lower_sheet: Sheet
    bond: Bond

    @property
    def surfaces(self) -> tuple[Surface, Surface]:
        """The two faces that meet."""
        return self.upper_sheet.lower, self.lower_sheet.upper

    @property
    def thinner_mm(self) -> float:
        """Thickness of the thinner of the two sheets. [mm]."""
        return min(self.upper_sheet.thickness_mm, self.lower_sheet.thickness_mm)


@dataclass(frozen=True)
class Stack:
    """Sheets in order, and what lies between each two.

    Parameters
    ----------
    sheets : tuple of Sheet
        2 to 4 sheets, top to bottom.
    bonds : tuple of Bond
        One less than the sheets, top to bottom.
    """

    sheets: tuple[Sheet, ...]
    bonds: tuple[Bond, ...] = ()

    def __post_init__(self) -> None:
        if not 2 <= len(self.sheets) <= 4:
            raise InputError(
                say("a stack has 2 to 4 sheets; this one has {count}", count=len(self.sheets))
            )
        if not self.bonds:
            object.__setattr__(self, "bonds", (UNBONDED,) * (len(self.sheets) - 1))
        if len(self.bonds) != len(self.sheets) - 1:
            raise InputError(
                say(
                    "{sheets} sheets have {interfaces} interfaces; {given} were given",
                    sheets=len(self.sheets),
                    interfaces=len(self.sheets) - 1,
                    given=len(self.bonds),
                )
            )
        thick, thin = max(self.thicknesses_mm), min(self.thicknesses_mm)
        if thick > LARGEST_RATIO * thin * (1 + 1e-9):
            raise InputError(
                say(
                    "the stack is {thick:g} mm on {thin:g} mm, a ratio of {ratio:.2f}:1; the "
                    "published rules cover at most 3:1 (scope of ISO 14373:2015): check the "
                    "sheets, and ask the vehicle maker how this joint is made",
                    thick=thick,
                    thin=thin,
                    ratio=thick / thin,
                )
            )

    @property
    def thicknesses_mm(self) -> tuple[float, ...]:
        """Thickness of each sheet, top to bottom. [mm]."""
        return tuple(sheet.thickness_mm for sheet in self.sheets)

    @property
    def total_mm(self) -> float:
        """Thickness of all sheets together. [mm]."""
        return sum(self.thicknesses_mm)

    @cached_property
    def interfaces(self) -> tuple[Interface, ...]:
        """The interfaces, top to bottom."""
        return tuple(
            Interface(upper, lower, bond)
            for upper, lower, bond in zip(
                self.sheets[:-1], self.sheets[1:], self.bonds, strict=True
            )
        )

    @property
    def is_bonded(self) -> bool:
        """Whether any interface has adhesive."""
        return any(bond.is_bonded for bond in self.bonds)

    @property
    def adhesive_state(self) -> AdhesiveState:
        """The state furthest along at any interface: cured, part-cured, wet, or none."""
        order = list(AdhesiveState)
        return max((bond.state for bond in self.bonds), key=order.index)

    @property
    def families(self) -> frozenset[SteelFamily]:
        """The steel families in the stack."""
        return frozenset(sheet.family for sheet in self.sheets)

    @property
    def surfaces(self) -> frozenset[Surface]:
        """Every surface in the stack, outer faces included."""
        return frozenset(face for sheet in self.sheets for face in (sheet.upper, sheet.lower))

    def turned_over(self) -> Stack:
        """Return the same stack seen from below."""
        return Stack(
            tuple(sheet.turned_over() for sheet in reversed(self.sheets)),
            tuple(reversed(self.bonds)),
        )

    @property
    def is_canonical(self) -> bool:
        """Whether this way up is the one in which the stack is stored."""
        return self._sort_key() <= self.turned_over()._sort_key()

    def canonical(self) -> Stack:
        """Return the way up in which the stack is stored and compared."""
        return self if self.is_canonical else self.turned_over()

    def same_as(self, other: Stack) -> bool:
        """Whether both are one stack, in either way up."""
        return self.canonical() == other.canonical()

    def _sort_key(self) -> tuple[tuple[object, ...], ...]:
        sheets = tuple(
            (s.thickness_mm, str(s.family), str(s.upper), str(s.lower), s.grade)
            for s in self.sheets
        )
        return sheets + tuple((bond.adhesive, str(bond.state)) for bond in self.bonds)

    def title(self, thickness: Callable[[float], str] | None = None) -> str:
        """Return the stack in one line: thicknesses, family, surfaces, adhesive.

        Parameters
        ----------
        thickness : callable, optional
            Writes a thickness given in mm with its unit; in mm when left out.
        """
        if thickness is None:
            parts = [" + ".join(figure(t, "g") for t in self.thicknesses_mm) + " mm"]
        else:
            parts = [" + ".join(thickness(t) for t in self.thicknesses_mm)]
        parts.append(" / ".join(_collapse([s.family.label for s in self.sheets])))
        parts.append(" / ".join(_collapse([_faces(sheet) for sheet in self.sheets])))
        parts.append(" / ".join(_collapse([str(bond) for bond in self.bonds])))
        return " · ".join(parts)


def _faces(sheet: Sheet) -> str:
    if sheet.upper is sheet.lower:
        return sheet.upper.label
    return f"{sheet.upper.label}–{sheet.lower.label}"


def _collapse(words: list[str]) -> list[str]:
    return words[:1] if len(set(words)) == 1 else words
