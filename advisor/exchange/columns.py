"""Columns that several kinds of record share: stack, setting, caps, interfaces; there and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.flat import SHEETS
from advisor.errors import InputError
from advisor.exchange.fields import Field, Moment, Number, Text, Whole, Word
from advisor.language import msg, say
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import NUMBERS, Setting
from advisor.weld.sheet import LONGEST_GRADE, Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

Values = Mapping[str, Any]
_SHEETS, _INTERFACES = range(1, SHEETS + 1), range(1, SHEETS)
_SHEET_PARTS = ("thickness_mm", "family", "upper", "lower", "grade")
_RESULT_PARTS = ("smallest_mm", "largest_mm", "failure")
_EMPTY = {
    "sheet": msg("sheet {number} is empty, but a later one is not"),
    "bond": msg("bond {number} is empty, but a later one is not"),
}
_IN_PART = {
    "sheet": msg("sheet {number} is given in part only; give all of it or nothing"),
    "bond": msg("bond {number} is given in part only; give all of it or nothing"),
}


def _sheet(n: int) -> tuple[Field, ...]:
    return (
        Number(f"sheet{n}_thickness_mm", optional=True),
        Word(f"sheet{n}_family", optional=True, words=SteelFamily),
        Word(f"sheet{n}_upper", optional=True, words=Surface),
        Word(f"sheet{n}_lower", optional=True, words=Surface),
        Text(f"sheet{n}_grade", longest=LONGEST_GRADE),
    )


def _bond(n: int) -> tuple[Field, ...]:
    return (
        Text(f"bond{n}_adhesive"),
        Word(f"bond{n}_state", optional=True, words=AdhesiveState),
    )


def _result(n: int) -> tuple[Field, ...]:
    return (
        Number(f"interface{n}_smallest_mm", optional=True),
        Number(f"interface{n}_largest_mm", optional=True),
        Word(f"interface{n}_failure", optional=True, words=FailureType),
    )


STACK = tuple(
    field for fields in (*map(_sheet, _SHEETS), *map(_bond, _INTERFACES)) for field in fields
)
#: Who wrote a thing down, and when.
WRITTEN = (Text("recorded_by"), Moment("recorded_at"))
RESULTS = tuple(field for n in _INTERFACES for field in _result(n))
NO_SETTING: dict[str, Any] = dict.fromkeys((*NUMBERS, "pulses"))


def setting_fields(*, optional: bool) -> tuple[Field, ...]:
    """Return the fields of a setting."""
    numbers = [Number(name, optional=optional) for name in NUMBERS]
    return (*numbers, Whole("pulses", optional=optional, low=1, high=20))


def electrode_fields(*, optional: bool) -> tuple[Field, ...]:
    """Return the fields of a pair of caps."""
    return (
        Word("cap_shape", optional=optional, words=CapShape),
        Number("face_mm", optional=optional),
        Text("cap_material"),
    )


def stack_values(stack: Stack) -> dict[str, Any]:
    """Return the values of a stack as it was laid."""
    found: dict[str, Any] = {}
    for n in _SHEETS:
        sheet = stack.sheets[n - 1] if n <= len(stack.sheets) else None
        for part in _SHEET_PARTS:
            found[f"sheet{n}_{part}"] = getattr(sheet, part, None)
        found[f"sheet{n}_grade"] = sheet.grade if sheet else ""
    for n in _INTERFACES:
        bond = stack.bonds[n - 1] if n <= len(stack.bonds) else None
        found[f"bond{n}_adhesive"] = bond.adhesive if bond else ""
        found[f"bond{n}_state"] = bond.state if bond else None
    return found


def stack_from(values: Values) -> Stack:
    """Return a stack; `InputError` where a sheet or a bond is given in part or after a gap."""
    sheets = _leading([_parts(values, f"sheet{n}", _SHEET_PARTS) for n in _SHEETS], "sheet")
    bonds = _leading(
        [_parts(values, f"bond{n}", ("adhesive", "state")) for n in _INTERFACES], "bond"
    )
    return Stack(
        tuple(Sheet(*_whole(each, n, "sheet")) for n, each in enumerate(sheets, start=1)),
        tuple(Bond(*_whole(each, n, "bond")) for n, each in enumerate(bonds, start=1)),
    )


def _parts(values: Values, prefix: str, names: Sequence[str]) -> tuple[Any, ...]:
    return tuple(values[f"{prefix}_{name}"] for name in names)


def _leading(rows: Sequence[tuple[Any, ...]], what: str) -> list[tuple[Any, ...]]:
    """Return the rows that say something; they have to be the first ones."""
    said = [any(part not in (None, "") for part in row) for row in rows]
    count = sum(said)
    if not all(said[:count]):
        raise InputError(say(_EMPTY[what], number=said.index(False) + 1))
    return list(rows[:count])


def _whole(row: tuple[Any, ...], n: int, what: str) -> tuple[Any, ...]:
    if None in row:
        raise InputError(say(_IN_PART[what], number=n))
    return row


def setting_values(setting: Setting | None) -> dict[str, Any]:
    """Return the values of a setting, or of none."""
    return NO_SETTING if setting is None else dict(vars(setting))


def setting_from(values: Values) -> Setting:
    """Return a setting."""
    return Setting(**{name: values[name] for name in NO_SETTING})


def planned_from(values: Values) -> Setting | None:
    """Return a setting, None where nothing of one is given."""
    lacking = [name for name in NO_SETTING if values[name] is None]
    if len(lacking) == len(NO_SETTING):
        return None
    if lacking:
        raise InputError(
            say("the setting has no {column}; give all of it or nothing", column=lacking[0])
        )
    return setting_from(values)


def electrode_values(electrode: Electrode | None) -> dict[str, Any]:
    """Return the values of a pair of caps, or of none."""
    if electrode is None:
        return {"cap_shape": None, "face_mm": None, "cap_material": ""}
    return {
        "cap_shape": electrode.shape,
        "face_mm": electrode.face_mm,
        "cap_material": electrode.material,
    }


def electrode_from(values: Values) -> Electrode:
    """Return a pair of caps."""
    return Electrode(values["cap_shape"], values["face_mm"], values["cap_material"])


def fitted_from(values: Values) -> Electrode | None:
    """Return a pair of caps, None where nothing of one is given."""
    given = [values["cap_shape"] is not None, values["face_mm"] is not None]
    if not any(given) and not values["cap_material"]:
        return None
    if not all(given):
        raise InputError(
            say("the caps are given in part only; give cap_shape and face_mm or nothing")
        )
    return electrode_from(values)


def result_values(results: Sequence[InterfaceResult]) -> dict[str, Any]:
    """Return the values of what was found at each interface."""
    found = {}
    for n in _INTERFACES:
        result = results[n - 1] if n <= len(results) else None
        for part in _RESULT_PARTS:
            found[f"interface{n}_{part}"] = getattr(result, part, None)
    return found


def results_from(values: Values, count: int) -> tuple[InterfaceResult, ...]:
    """Return what was found at the interfaces of a stack that has `count` of them."""
    rows = [_parts(values, f"interface{n}", _RESULT_PARTS) for n in _INTERFACES]
    for n, row in enumerate(rows[count:], start=count + 1):
        if row != (None, None, None):
            raise InputError(
                say(
                    "interface {number} has a result, but the stack has only {count}",
                    number=n,
                    count=count,
                )
            )
    return tuple(InterfaceResult(*row) for row in rows[:count])
