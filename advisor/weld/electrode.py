"""The electrode caps a weld is made with."""

from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.weld.words import TradeWord


class CapShape(TradeWord):
    """Shape of the cap's working end, in plain words (ISO 5821 letters: from memory)."""

    DOME = "dome", msg("dome")
    FLAT = "flat", msg("flat")
    CONE = "cone", msg("truncated cone")
    RADIUS = "radius", msg("large radius")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("cap shape")


@dataclass(frozen=True)
class Electrode:
    """A pair of equal caps.

    Parameters
    ----------
    shape : CapShape
        Shape of the working end.
    face_mm : float
        Diameter of the working face as dressed, 3 to 16. [mm]
    material : str
        Material class as marked, for example ``CuCrZr``.
    """

    shape: CapShape
    face_mm: float
    material: str = "CuCrZr"

    def __post_init__(self) -> None:
        if not 3 <= self.face_mm <= 16:
            raise InputError(
                say(
                    "electrode face is {face:g} mm; it must be 3 to 16 mm "
                    "(usual caps are dressed to 4–9 mm)",
                    face=self.face_mm,
                )
            )

    def title(self) -> str:
        """Return the electrode in one line."""
        return f"{self.shape.label} {figure(self.face_mm, 'g')} mm {self.material}".strip()
