"""The five figures that were fitted once, and how a weld is calculated.

They are in ``reference/heat_parameters.csv``: fitted by `advisor.heat.calibration` to the middle of
the bands of ISO 14373:2015 Table B.1 (uncoated, both columns, eight rows), so that these sixteen
settings give about 5√t, and frozen. Zinc, unequal sheets and three sheets took no part.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from functools import cache

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.resources import reference

PARAMETERS_FILE = "heat_parameters.csv"


@dataclass(frozen=True)
class ContactParameters:
    """What was fitted.

    Parameters
    ----------
    film : float
        Resistance of the film of a cold sheet-to-sheet contact at 100 MPa, in Ωmm².
    constriction : float
        Length that, times the resistivity of steel, is the resistance of the spots where two cold
        sheets touch at 100 MPa, in mm.
    yielding : float
        Pressure that a contact bears, as a share of the flow stress of the sheet there.
    spread : float
        How far a contact between sheets can grow beyond the electrode face, as a share of its
        depth below the nearer electrode.
    stirring : float
        How many times better the melt conducts heat than it would at rest.
    """

    film: float
    constriction: float
    yielding: float
    spread: float
    stirring: float


@cache
def fitted() -> ContactParameters:
    """Return the frozen figures of ``reference/heat_parameters.csv``."""
    with reference(PARAMETERS_FILE).open(encoding="utf-8", newline="") as opened:
        found = {row["name"]: float(row["value"]) for row in csv.DictReader(opened)}
    return ContactParameters(**{each.name: found[each.name] for each in fields(ContactParameters)})


@dataclass(frozen=True)
class Options:
    """How a weld is calculated, beside what the shop dials; defaults: choice of this project.

    Parameters
    ----------
    contact_factors : tuple of float
        Factor on the resistance of each interface before the metal fuses, top to bottom; empty
        for 1. For wet adhesive: no published number exists, so none is assumed.
    neighbour_pitch_mm : float or None
        Distance to an earlier weld that takes part of the current; None for none. [mm]
    neighbour_mm : float
        Diameter of that weld. [mm]
    fineness : float
        Factor on the numbers of rings and layers, 0.4 to 3.
    steps : int
        Time steps while current flows, 40 to 4000.
    frames : int
        About how many pictures of the temperature are kept.
    contacts : ContactParameters or None
        Other figures than the fitted ones, for calibrating.
    """

    contact_factors: tuple[float, ...] = ()
    neighbour_pitch_mm: float | None = None
    neighbour_mm: float = 5.0
    fineness: float = 1.0
    steps: int = 240
    frames: int = 40
    contacts: ContactParameters | None = None

    def __post_init__(self) -> None:
        _inside(msg("fineness of the grid"), self.fineness, 0.4, 3)
        _inside(msg("number of time steps"), self.steps, 40, 4000)
        _inside(msg("number of pictures"), self.frames, 2, 400)
        for factor in self.contact_factors:
            _inside(msg("factor on a contact's resistance"), factor, 0.01, 100)
        pitch = self.neighbour_pitch_mm
        if pitch is not None and not self.neighbour_mm < pitch <= 500:
            raise InputError(
                say(
                    "the neighbour weld is {pitch:g} mm away; it must be more than its diameter of "
                    "{diameter:g} mm and at most 500 mm, centre to centre",
                    pitch=pitch,
                    diameter=self.neighbour_mm,
                )
            )


def _inside(what: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise InputError(
            say(
                "{what} is {value:g}; it must be {low:g} to {high:g}",
                what=say(what),
                value=value,
                low=low,
                high=high,
            )
        )
