"""One sheet of a stack: thickness, steel family, and what its two faces carry when welded."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.text_rules import check_text
from advisor.weld.words import TradeWord

#: Range of the published settings, ISO 14373:2015 Tables B.1 and B.2. [mm]
THINNEST_MM, THICKEST_MM = 0.4, 3.0
#: Longest note of a grade. Choice of this project: a note, not a text. [letters]
LONGEST_GRADE = 200
#: A sheet of exactly 0.4 mm typed in inches must not be refused. Choice of this project: far below
#: what is measured.
_ROUNDING_MM = 1e-9
_MM_PER_INCH = 25.4
_NOT_STEEL = ("alumin", "magnes", "copper", "brass", "titan", "plastic", "cfrp", "other metal")


class SteelFamily(TradeWord):
    """Steel family of a sheet, as the vehicle maker's body drawing names it."""

    LOW_CARBON = "low_carbon", msg("low-carbon")
    HIGH_STRENGTH = "high_strength", msg("high-strength low-alloy")
    DUAL_PHASE = "dual_phase", msg("dual-phase")
    PRESS_HARDENED = "press_hardened", msg("press-hardened")
    STAINLESS = "stainless", msg("stainless")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("steel family")

    @classmethod
    def parse(cls, text: str) -> SteelFamily:
        """Read a steel family; a metal that is no steel is refused by name."""
        typed = text.casefold()
        if "steel" not in typed and any(metal in typed for metal in _NOT_STEEL):
            raise InputError(
                say(
                    "{metal} is not steel; this tool covers steel sheet only: follow the vehicle "
                    "maker's procedure for joining it (often rivets and adhesive)",
                    metal=text.strip(),
                )
            )
        return super().parse(text)


class Surface(TradeWord):
    """What a face of the metal really carries when it is welded."""

    BARE = "bare", msg("bare")
    GROUND_BARE = "ground_bare", msg("ground bare")
    HOT_DIP_ZINC = "hot_dip_zinc", msg("hot-dip zinc")
    ELECTRO_ZINC = "electro_zinc", msg("electrolytic zinc")
    GALVANNEALED = "galvannealed", msg("galvannealed")
    ALUMINIUM_SILICON = "aluminium_silicon", msg("aluminium-silicon")
    WELD_PRIMER = "weld_primer", msg("weld-through primer")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("surface")


@dataclass(frozen=True)
class Sheet:
    """One sheet.

    Parameters
    ----------
    thickness_mm : float
        Metal thickness, 0.4 to 3.0. [mm]
    family : SteelFamily
        Steel family.
    upper, lower : Surface
        What the upper and the lower face carry when welded.
    grade : str
        Grade text from the drawing or the mark on the part; only a note.
    """

    thickness_mm: float
    family: SteelFamily = SteelFamily.LOW_CARBON
    upper: Surface = Surface.BARE
    lower: Surface = Surface.BARE
    grade: str = ""

    def __post_init__(self) -> None:
        check_thickness(self.thickness_mm)
        if self.grade:
            check_text(self.grade, say("grade"), LONGEST_GRADE)

    def turned_over(self) -> Sheet:
        """Return the sheet with its faces swapped."""
        return Sheet(self.thickness_mm, self.family, self.lower, self.upper, self.grade)


def check_thickness(thickness_mm: float) -> None:
    """Refuse a sheet thickness outside 0.4–3.0 mm with a sentence that says what fits.

    Parameters
    ----------
    thickness_mm : float
        Metal thickness. [mm]

    Raises
    ------
    InputError
        Not positive, or outside the range of the published settings.
    """
    if not thickness_mm > 0:
        raise InputError(
            say(
                "sheet thickness is {thickness:g} mm; it must be positive, {low:g} to {high:g} mm: "
                "measure the sheet with a micrometer",
                thickness=thickness_mm,
                low=THINNEST_MM,
                high=THICKEST_MM,
            )
        )
    if not THINNEST_MM - _ROUNDING_MM <= thickness_mm <= THICKEST_MM + _ROUNDING_MM:
        in_mm = thickness_mm * _MM_PER_INCH
        message = _MAYBE_INCHES if THINNEST_MM <= in_mm <= THICKEST_MM else _OUTSIDE
        raise InputError(
            say(message, thickness=thickness_mm, low=THINNEST_MM, high=THICKEST_MM, in_mm=in_mm)
        )


_OUTSIDE = msg(
    "sheet thickness is {thickness:g} mm; the tool covers {low:g} to {high:g} mm (range of "
    "ISO 14373:2015 Annex B)"
)
_MAYBE_INCHES = msg(
    "sheet thickness is {thickness:g} mm; the tool covers {low:g} to {high:g} mm (range of "
    "ISO 14373:2015 Annex B); if that was inches it is {in_mm:.2f} mm: change the unit to in"
)
