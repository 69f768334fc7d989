"""Open measurements as coupons: a CSV whose column names carry the units, or a column map.

Only what the evaluation needs: two sheets, one diameter, one machine.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.importing import LOST_WORDS, From, Table
from advisor.coupons.rules import ShopRules
from advisor.errors import AdvisorError, InputError
from advisor.units import CYCLE, Calibration, parse_number, to_inner
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import Stack

#: Targets with the units their columns may be in, the usual one first.
UNITS = {
    "thickness1": ("mm", "in"),
    "thickness2": ("mm", "in"),
    "current": ("kA", "A"),
    "weld_time": ("ms", "s", "cycles50", "cycles60"),
    "force": ("kN", "N", "daN", "lbf"),
    "pressure": ("bar", "psi", "kPa", "MPa"),
    "diameter": ("mm", "in"),
    "face": ("mm", "in"),
}
#: Targets that are words.
WORDS = ("surface", "expulsion")
TARGETS = (*UNITS, *WORDS)
_NEEDED = ("thickness1", "current", "diameter")
#: Other names of a target in a header, before the unit.
_ALIASES = {
    "thickness1": ("thickness", "thickness_1", "thickness_a", "sheet1_thickness", "t1", "gauge"),
    "thickness2": ("thickness_2", "thickness_b", "sheet2_thickness", "t2"),
    "current": ("weld_current", "welding_current"),
    "weld_time": ("weld", "time", "welding_time"),
    "force": ("electrode_force", "load"),
    "pressure": ("air_pressure", "electrode_pressure", "force"),
    "diameter": ("nugget_diameter", "button_diameter", "weld_diameter", "nugget", "size"),
    "face": ("electrode_face", "tip"),
}
_KINDS = {
    "thickness1": "thickness",
    "thickness2": "thickness",
    "weld_time": "time",
    "face": "diameter",
}
_OUTSIDE = "outside the scope"
_YES = frozenset({"yes", "true", "1", "y", "x"})
_MADE_AT = datetime(2000, 1, 1, tzinfo=UTC)  # no date is needed here, but a coupon has one


@dataclass(frozen=True)
class Measured:
    """Coupons of a file, and what was lost on the way.

    Parameters
    ----------
    coupons : tuple of Coupon
        Usable rows, each with one measured diameter.
    dropped : dict of str to int
        Reason to number of rows.
    notes : tuple of str
        What was taken for granted, one sentence each.
    given : frozenset of str
        Targets that the file or a constant gives.
    """

    coupons: tuple[Coupon, ...]
    dropped: Mapping[str, int]
    notes: tuple[str, ...]
    given: frozenset[str]


def named_columns(header: Sequence[str]) -> dict[str, From]:
    """Return the map that the names of the columns spell out.

    Parameters
    ----------
    header : sequence of str
        Column names such as ``current_kA``; capitals do not matter.

    Returns
    -------
    dict of str to From
        Target to column and unit, for the names that are understood.
    """
    known = {word: (word, "") for word in WORDS}
    for target, units in UNITS.items():
        for name in (target, *_ALIASES[target]):
            for unit in units:
                known.setdefault(f"{name}_{unit}".casefold(), (target, unit))
    found: dict[str, From] = {}
    for column in header:
        target, unit = known.get(column.strip().casefold(), ("", ""))
        if target:
            found.setdefault(target, From(column, unit))
    return found


def mapped_column(text: str) -> tuple[str, From]:
    """Read ``TARGET=COLUMN`` or ``TARGET=COLUMN:UNIT``.

    Raises
    ------
    InputError
        Not of that form, or an unknown target or unit.
    """
    target, column = _assigned(text)
    name, _, unit = column.rpartition(":")
    if not name or unit not in UNITS.get(target, ()):
        if re.fullmatch(r"\w+", unit) and name:
            raise InputError(
                f"--map {text}: {target} cannot be in {unit!r}; use one of: "
                f"{', '.join(UNITS.get(target, ())) or 'no unit'}"
            )
        name, unit = column, UNITS.get(target, ("",))[0]
    return target, From(name, unit)


def constant(text: str) -> tuple[str, From]:
    """Read ``TARGET=VALUE`` or ``TARGET=VALUE:UNIT``; the same for every row."""
    target, source = mapped_column(text)
    return target, From(unit=source.unit, constant=source.column)


def _assigned(text: str) -> tuple[str, str]:
    target, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not value or target not in TARGETS:
        raise InputError(
            f"{text!r} is not of the form TARGET=COLUMN[:UNIT]; targets: {', '.join(TARGETS)}"
        )
    return target, value


def read_measured(
    table: Table,
    columns: Mapping[str, From],
    rules: ShopRules,
    lost: frozenset[str] = frozenset(),
    yes_words: frozenset[str] = frozenset(),
) -> Measured:
    """Turn the rows of a file into coupons.

    Parameters
    ----------
    table : Table
        The file.
    columns : mapping of str to From
        Where each target comes from.
    rules : ShopRules
        Rules whose published columns are used for uncoated steel.
    lost : frozenset of str
        Texts that mark a lost reading besides the usual ones.
    yes_words : frozenset of str
        Texts that mean expulsion besides the usual ones.

    Returns
    -------
    Measured
        Coupons of the usable rows.

    Raises
    ------
    InputError
        A column that is needed is not there.
    """
    _check(table.header, columns)
    dropped = Counter({"cells that do not fit the header": len(table.problems)})
    yes = _YES | {word.casefold() for word in yes_words}
    usable = []
    for row in table.rows:
        try:
            usable.append(_read_row(row, columns, rules, lost, yes))
        except _Dropped as reason:
            dropped[str(reason)] += 1
    force_per_pressure = _force_per_pressure(usable)
    coupons = []
    for read in usable:
        try:
            coupons.append(_coupon(read, force_per_pressure))
        except AdvisorError:
            dropped[_OUTSIDE] += 1
    return Measured(tuple(coupons), dict(+dropped), _taken_for_granted(columns), frozenset(columns))


class _Dropped(Exception):  # noqa: N818  # not an error: the row is counted and passed over
    """Why a row is of no use."""


@dataclass(frozen=True)
class _Read:
    """A usable row: readings in mm, kA, ms and kN (a pressure as it stands), and its stack."""

    numbers: Mapping[str, float]
    is_expelled: bool
    stack: Stack
    start: PublishedStart


def _check(header: Sequence[str], columns: Mapping[str, From]) -> None:
    absent = sorted({c.column for c in columns.values() if c.column} - set(header))
    if absent:
        raise InputError(f"the file has no column {absent[0]!r}; it has: {', '.join(header)}")
    missing = [target for target in _NEEDED if target not in columns]
    if missing:
        raise InputError(
            f"no column for {', '.join(missing)}: name it with its unit, for example "
            f"{missing[0]}_{UNITS[missing[0]][0]}, or use --map {missing[0]}=COLUMN:UNIT; the file "
            f"has: {', '.join(header)}"
        )


def _read_row(
    row: Mapping[str, str],
    columns: Mapping[str, From],
    rules: ShopRules,
    lost: frozenset[str],
    yes: frozenset[str],
) -> _Read:
    texts = {
        target: (row[source.column] if source.column else source.constant).strip()
        for target, source in columns.items()
    }
    unread = {t for t, text in texts.items() if text.casefold() in LOST_WORDS or text in lost}
    if "diameter" in unread:
        raise _Dropped("no diameter")
    if unread & set(UNITS):
        raise _Dropped("a reading is lost")
    try:
        numbers = {t: _number(texts[t], columns[t].unit, t) for t in UNITS if t in columns}
        stack = _stack(numbers, "" if "surface" in unread else texts.get("surface", ""))
        start = published_start(stack, rules.bare_schedule)
    except AdvisorError:
        raise _Dropped(_OUTSIDE) from None
    return _Read(numbers, texts.get("expulsion", "").casefold() in yes, stack, start)


def _number(text: str, unit: str, target: str) -> float:
    number = parse_number(text, target)
    if target == "pressure":
        if not number > 0:
            raise InputError(f"pressure is {number:g} {unit}; it must be above 0")
        return number
    kind = _KINDS.get(target, target)
    if unit == "s":
        return 1000 * number
    mains = unit.removeprefix("cycles")
    if mains != unit:
        return to_inner(kind, number, CYCLE, Calibration(mains_hz=float(mains)))
    return to_inner(kind, number, unit)


def _stack(numbers: Mapping[str, float], surface: str) -> Stack:
    face = Surface.parse(surface) if surface else Surface.BARE
    thicknesses = (numbers["thickness1"], numbers.get("thickness2", numbers["thickness1"]))
    return Stack(tuple(Sheet(t, upper=face, lower=face) for t in thicknesses))


def _force_per_pressure(rows: Sequence[_Read]) -> float:
    """Return the force that gives these rows the geometric mean of their published ones.

    A pressure without the machine's calibration is a force up to a constant factor. The factor uses
    inputs only, no diameter.
    """
    logs = [
        np.log(read.start.force_kN / read.numbers["pressure"])
        for read in rows
        if "pressure" in read.numbers
    ]
    return float(np.exp(np.mean(logs))) if logs else math.nan


def _coupon(read: _Read, force_per_pressure: float) -> Coupon:
    numbers, size = read.numbers, read.numbers["diameter"]
    force = numbers.get("force", read.start.force_kN)
    if "force" not in numbers and "pressure" in numbers:
        force = force_per_pressure * numbers["pressure"]
    return Coupon(
        made_at=_MADE_AT,
        welder="unknown",
        machine="measured",
        electrode=Electrode(CapShape.DOME, numbers.get("face", read.start.face_mm)),
        stack=read.stack,
        setting=Setting(numbers["current"], numbers.get("weld_time", read.start.weld_ms), force),
        results=(InterfaceResult(size, size, FailureType.BUTTON),),
        expulsion=read.is_expelled,
    )


def _taken_for_granted(columns: Mapping[str, From]) -> tuple[str, ...]:
    notes = ["Every sheet counts as low-carbon steel."]
    if "surface" not in columns:
        notes.append("No surface is given: bare.")
    if "thickness2" not in columns:
        notes.append("One thickness is given: both sheets have it.")
    if "face" not in columns:
        notes.append("No face diameter is given: the published one of each stack.")
    if "weld_time" not in columns:
        notes.append("No weld time is given: the published one of each stack.")
    if "force" not in columns and "pressure" in columns:
        notes.append(
            "The force is a pressure without calibration: scaled so that its geometric mean is "
            "that of the published starts."
        )
    elif "force" not in columns:
        notes.append("No force is given: the published one of each stack.")
    return tuple(notes)
