"""Units at the edges: forms, CSV columns, files. The only module that knows pint.

Inside the program a quantity is a plain float in the one unit of its field (`Field.unit`), and the
name that carries it ends in that unit (``thickness_mm``, ``current_kA``). Two units of the trade
are not units of measurement at all and need the machine: a weld *cycle* is one period of its mains,
and an air pressure is a force only through the machine's calibration.
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from advisor.errors import InputError, UnitError
from advisor.language import figure, msg, say

CYCLE = "cycle"
PRESSURES = ("bar", "psi")


@dataclass(frozen=True)
class Field:
    """A kind of quantity: the unit used inside and the units a person may type.

    The name is a key, and a message for `say`.
    """

    name: str
    unit: str
    allowed: tuple[str, ...]


FIELDS = {
    field.name: field
    for field in (
        Field(msg("thickness"), "mm", ("mm", "in")),
        Field(msg("diameter"), "mm", ("mm", "in")),
        Field(msg("length"), "mm", ("mm", "in")),
        Field(msg("current"), "kA", ("kA", "A")),
        Field(msg("time"), "ms", ("ms", CYCLE)),
        Field(msg("force"), "kN", ("kN", "N", "daN", "lbf", *PRESSURES)),
        Field(msg("duration"), "min", ("min", "h")),
        Field(msg("temperature"), "degC", ("degC", "degF")),
    )
}
LABELS = {"degC": "°C", "degF": "°F", CYCLE: msg("cycles")}
_PINT_NAMES = {"lbf": "force_pound", "in": "inch"}


@dataclass(frozen=True)
class Calibration:
    """What turns a machine's own dial into force and time.

    Parameters
    ----------
    mains_hz : float or None
        Mains frequency that defines one weld cycle. [Hz]
    force_kN_per_bar : float or None
        Electrode force per air pressure, from a force gauge. [kN/bar]
    force_offset_kN : float
        Force at zero gauge pressure of the fitted line, often negative (friction). [kN]
    """

    mains_hz: float | None = None
    force_kN_per_bar: float | None = None
    force_offset_kN: float = 0.0

    def __post_init__(self) -> None:
        if self.mains_hz is not None and not 40 <= self.mains_hz <= 70:
            raise InputError(
                say(
                    "mains frequency is {mains:g} Hz; it must be 50 or 60 Hz (40 to 70 accepted)",
                    mains=self.mains_hz,
                )
            )
        if self.force_kN_per_bar is not None and not 0 < self.force_kN_per_bar <= 20:
            raise InputError(
                say(
                    "force per pressure is {force:g} kN/bar; it must be above 0 and at most 20 "
                    "kN/bar (measure it with a force gauge between the electrodes)",
                    force=self.force_kN_per_bar,
                )
            )


NO_CALIBRATION = Calibration()


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=None)


@cache
def _line(unit: str, to: str) -> tuple[float, float]:
    """Return (factor, offset) of the straight line that turns `unit` into `to`."""
    registry = _registry()
    first, second = _PINT_NAMES.get(unit, unit), _PINT_NAMES.get(to, to)
    low = registry.Quantity(0.0, first).to(second).magnitude
    high = registry.Quantity(1.0, first).to(second).magnitude
    return float(high - low), float(low)


def field(name: str) -> Field:
    """Return the field called `name`; `UnitError` names those that exist."""
    try:
        return FIELDS[name]
    except KeyError:
        known = ", ".join(FIELDS)
        raise UnitError(
            say("no quantity is called {name!r}; known: {known}", name=name, known=known)
        ) from None


def label(unit: str) -> str:
    """Return a unit as it is shown to a person."""
    return say(LABELS[unit]) if unit in LABELS else unit


def units_for(name: str, calibration: Calibration = NO_CALIBRATION) -> tuple[str, ...]:
    """Return the units of a field that this calibration can serve, inner unit first."""
    allowed = field(name).allowed
    if calibration.mains_hz is None:
        allowed = tuple(unit for unit in allowed if unit != CYCLE)
    if calibration.force_kN_per_bar is None:
        allowed = tuple(unit for unit in allowed if unit not in PRESSURES)
    return allowed


def _scale(name: str, unit: str, calibration: Calibration) -> tuple[float, float]:
    """Return (factor, offset) with ``inner = factor * value + offset``."""
    known = field(name)
    if unit not in known.allowed:
        raise UnitError(
            say(
                "{quantity} cannot be given in {unit!r}; use one of: {allowed}",
                quantity=say(known.name),
                unit=unit,
                allowed=", ".join(label(each) for each in known.allowed),
            )
        )
    if unit == CYCLE:
        return _cycle_ms(calibration), 0.0
    if unit in PRESSURES:
        return _pressure_scale(unit, calibration)
    return _line(unit, known.unit)


def _cycle_ms(calibration: Calibration) -> float:
    if calibration.mains_hz is None:
        raise UnitError(
            say(
                "a weld time in cycles needs the machine's mains frequency (50 or 60 Hz): enter it "
                "with the machine, or give the time in ms"
            )
        )
    return 1000.0 / calibration.mains_hz


def _pressure_scale(unit: str, calibration: Calibration) -> tuple[float, float]:
    if calibration.force_kN_per_bar is None:
        raise UnitError(
            say(
                "a force given as air pressure in {unit} needs the machine's calibration in kN per "
                "bar: enter it with the machine, or give the force in kN",
                unit=unit,
            )
        )
    factor = calibration.force_kN_per_bar * _line(unit, "bar")[0]
    return factor, calibration.force_offset_kN


def to_inner(
    name: str, value: float, unit: str, calibration: Calibration = NO_CALIBRATION
) -> float:
    """Turn a typed value into the field's inner unit.

    Parameters
    ----------
    name : str
        Field, a key of `FIELDS`.
    value : float
        Typed number. [`unit`]
    unit : str
        One of the field's allowed units.
    calibration : Calibration
        Needed for cycles and for air pressures.

    Returns
    -------
    float
        The value in ``FIELDS[name].unit``.

    Raises
    ------
    UnitError
        The unit does not belong to the field, or the calibration for it is missing.
    """
    factor, offset = _scale(name, unit, calibration)
    return factor * float(value) + offset


def from_inner(
    name: str, value: float, unit: str, calibration: Calibration = NO_CALIBRATION
) -> float:
    """Turn a value in the field's inner unit into `unit`; the reverse of `to_inner`."""
    factor, offset = _scale(name, unit, calibration)
    return (float(value) - offset) / factor


_DIGITS = {
    ("thickness", "mm"): 2,
    ("thickness", "in"): 4,
    ("diameter", "mm"): 2,
    ("diameter", "in"): 3,
    ("length", "mm"): 1,
    ("length", "in"): 3,
    ("current", "kA"): 1,
    ("current", "A"): 0,
    ("time", "ms"): 0,
    ("time", CYCLE): 1,
    ("force", "kN"): 2,
    ("force", "N"): 0,
    ("force", "daN"): 0,
    ("force", "lbf"): 0,
    ("force", "bar"): 2,
    ("force", "psi"): 1,
}


def digits(name: str, unit: str) -> int:
    """Return how many decimals a field is shown with in this unit."""
    return _DIGITS.get((name, unit), 1)


def show(
    name: str,
    value: float | None,
    unit: str | None = None,
    calibration: Calibration = NO_CALIBRATION,
) -> str:
    """Write an inner value for a person, in `unit`, with the unit behind it.

    Trailing zeros are kept so that figures of one kind line up. ``None`` becomes an en dash.
    """
    if value is None or math.isnan(value):
        return "–"
    unit = unit or field(name).unit
    number = from_inner(name, value, unit, calibration)
    return f"{figure(number, f'.{digits(name, unit)}f')} {label(unit)}"


def parse_number(text: str, what: str) -> float:
    """Read a typed number, with a point or a comma for the decimals.

    Parameters
    ----------
    text : str
        What was typed.
    what : str
        What it is, for the sentence, in the language spoken.

    Raises
    ------
    InputError
        Text that is not a finite number.
    """
    cleaned = text.strip().replace("\u2212", "-")
    if "," in cleaned and "." not in cleaned:
        cleaned = cleaned.replace(",", ".", 1)
    try:
        # float() would read the slip 1_2 as 12.
        number = float(cleaned.replace("_", "?"))
    except ValueError:
        raise InputError(
            say(
                "{what} is {typed!r}; it must be a number such as {example:g}",
                what=what,
                typed=text.strip(),
                example=1.2,
            )
        ) from None
    if not math.isfinite(number):
        raise InputError(
            say(
                "{what} is {typed!r}; it must be a finite number such as {example:g}",
                what=what,
                typed=text.strip(),
                example=1.2,
            )
        )
    return number
