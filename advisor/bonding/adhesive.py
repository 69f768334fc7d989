"""An adhesive as its label describes it. The shop enters it; the tool knows no product."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import msg, say

#: Longest time a label may give. Choice of this project: longer than cold-curing adhesives take, so
#: that a slip is caught.
_LONGEST_MIN = 14 * 24 * 60


@dataclass(frozen=True)
class Span:
    """A time range from a label.

    Parameters
    ----------
    low_min, high_min : float
        Shortest and longest time. [min]
    """

    low_min: float
    high_min: float

    def __post_init__(self) -> None:
        if not 0 < self.low_min <= self.high_min <= _LONGEST_MIN:
            raise InputError(
                say(
                    "the time range is {low:g} to {high:g} min; the first must be above 0 and not "
                    "above the second, which must be at most 14 days ({most:,} min)",
                    low=self.low_min,
                    high=self.high_min,
                    most=_LONGEST_MIN,
                )
            )


@dataclass(frozen=True)
class Adhesive:
    """One adhesive of the shop.

    Parameters
    ----------
    name : str
        What the shop calls it.
    work : Span
        Work time: from mixing until parts must be together. [min]
    clamp : Span
        Time until clamps may come off when nothing is welded. [min]
    cure : Span
        Time until fully cured. [min]
    label_degC : float
        Temperature the label's times are for; 21 where it does not say (common practice, no
        source). [degC]
    note : str
        Anything else, for example the page of the maker's sheet.
    bead_mm : float or None
        Diameter of the bead to lay, where the label says. [mm]
    bond_line_mm : float or None
        Size of the glass beads that set the bond line, where the label says. [mm]
    """

    name: str
    work: Span
    clamp: Span
    cure: Span
    label_degC: float = 21.0
    note: str = ""
    bead_mm: float | None = None
    bond_line_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError(say("the adhesive has no name; copy it from the cartridge"))
        if not 0 <= self.label_degC <= 60:
            raise InputError(
                say(
                    "label temperature is {temperature:g} °C; it must be 0 to 60 °C "
                    "(if that was °F, 70 °F is 21 °C)",
                    temperature=self.label_degC,
                )
            )
        self._check_beads()
        spans = (self.work, self.clamp, self.cure)
        lows, highs = [s.low_min for s in spans], [s.high_min for s in spans]
        if lows != sorted(lows) or highs != sorted(highs):
            raise InputError(
                say(
                    "the times of {adhesive} do not follow each other: work time, then clamp time, "
                    "then full cure, each no shorter than the one before",
                    adhesive=self.name,
                )
            )

    def _check_beads(self) -> None:
        for what, value, most in (
            (msg("the bead"), self.bead_mm, 50),
            (msg("the bond-line bead"), self.bond_line_mm, 5),
        ):
            if value is not None and not 0 < value <= most:
                raise InputError(
                    say(
                        "{what} is {value:g} mm; it must be above 0 and at most {most} mm, or left "
                        "empty where the label does not say",
                        what=say(what),
                        value=value,
                        most=most,
                    )
                )
