"""A coupon as one row of a table, its units in the column names; there and back without loss.

Only as many sheets and interfaces as a coupon has are filled; the other cells stay empty.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import TypeVar

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.errors import InputError
from advisor.language import say
from advisor.units import parse_number
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType, TestType
from advisor.weld.setting import NUMBERS, Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

#: Most sheets of a stack. Choice of this project: what a repair joins; published starts are for two
#: or three.
SHEETS = 4
T = TypeVar("T")

_FLAGS = ("expulsion", "edge_weld", "cracks")


def _columns() -> tuple[str, ...]:
    names = ["made_at", "welder", "machine", "job", "test"]
    for n in range(1, SHEETS + 1):
        names += [f"sheet{n}_{part}" for part in ("thickness_mm", "family", "upper", "lower")]
        names.append(f"sheet{n}_grade")
    for n in range(1, SHEETS):
        names += [f"bond{n}_adhesive", f"bond{n}_state"]
    names += ["cap_shape", "face_mm", "cap_material", "welds_since_dressing"]
    names += [*NUMBERS, "pulses"]
    for n in range(1, SHEETS):
        names += [f"interface{n}_{part}" for part in ("smallest_mm", "largest_mm", "failure")]
    return (*names, *_FLAGS, "notes")


#: Every column, in the order they are written.
COLUMNS = _columns()
#: Columns of free text, in which every letter counts.
FREE_TEXT = frozenset(
    name
    for name in COLUMNS
    if name in {"welder", "machine", "job", "cap_material", "notes"}
    or name.endswith(("_grade", "_adhesive"))
)
#: Years a coupon may be from; anything else is a slip, and no clock of a computer goes further.
#: Choice of this project.
_YEARS = range(1900, 3000)


def to_row(coupon: Coupon) -> dict[str, str]:
    """Write a coupon as one flat row of text.

    Parameters
    ----------
    coupon : Coupon
        The coupon.

    Returns
    -------
    dict
        One text for each of `COLUMNS`; numbers in full precision, the time in UTC (ISO 8601).
    """
    row = dict.fromkeys(COLUMNS, "")
    row.update(
        made_at=coupon.made_at.astimezone(UTC).isoformat(),
        welder=coupon.welder,
        machine=coupon.machine,
        job=coupon.job,
        test=coupon.test.value,
        cap_shape=coupon.electrode.shape.value,
        face_mm=repr(coupon.electrode.face_mm),
        cap_material=coupon.electrode.material,
        welds_since_dressing=_text(coupon.welds_since_dressing),
        pulses=str(coupon.setting.pulses),
        notes=coupon.notes,
    )
    row.update({name: repr(getattr(coupon.setting, name)) for name in NUMBERS})
    row.update({name: "yes" if getattr(coupon, name) else "no" for name in _FLAGS})
    for n, sheet in enumerate(coupon.stack.sheets, start=1):
        row[f"sheet{n}_thickness_mm"] = repr(sheet.thickness_mm)
        for part in ("family", "upper", "lower"):
            row[f"sheet{n}_{part}"] = getattr(sheet, part).value
        row[f"sheet{n}_grade"] = sheet.grade
    for n, bond in enumerate(coupon.stack.bonds, start=1):
        row[f"bond{n}_adhesive"], row[f"bond{n}_state"] = bond.adhesive, bond.state.value
    for n, result in enumerate(coupon.results, start=1):
        row[f"interface{n}_smallest_mm"] = _text(result.smallest_mm)
        row[f"interface{n}_largest_mm"] = _text(result.largest_mm)
        row[f"interface{n}_failure"] = result.failure.value if result.failure else ""
    return row


def _text(value: float | None) -> str:
    return "" if value is None else repr(value)


def from_row(row: Mapping[str, str]) -> Coupon:
    """Read a coupon from one flat row; the reverse of `to_row`.

    Parameters
    ----------
    row : mapping
        Texts by column name. Missing columns and empty cells mean: not given.

    Returns
    -------
    Coupon
        The coupon.

    Raises
    ------
    InputError
        The first cell that cannot be used, with its column and what would be right.
    """
    cells = {name: row.get(name, "") for name in COLUMNS}
    cells |= {name: cells[name].strip() for name in COLUMNS if name not in FREE_TEXT}
    count = sum(1 for n in range(1, SHEETS + 1) if cells[f"sheet{n}_thickness_mm"])
    return Coupon(
        made_at=_time(cells["made_at"]),
        welder=cells["welder"],
        machine=cells["machine"],
        electrode=Electrode(
            _word(cells, "cap_shape", CapShape.parse, CapShape.DOME),
            _number(cells, "face_mm"),
            cells["cap_material"],
        ),
        stack=Stack(
            tuple(_sheet(cells, n) for n in range(1, count + 1)),
            tuple(_bond(cells, n) for n in range(1, count)),
        ),
        setting=Setting(
            pulses=_whole(cells, "pulses") or 1,
            **{
                name: _number(cells, name, None if i < 3 else 0.0) for i, name in enumerate(NUMBERS)
            },
        ),
        results=tuple(_result(cells, n) for n in range(1, count)),
        test=_word(cells, "test", TestType.parse, TestType.PEEL),
        job=cells["job"],
        welds_since_dressing=_whole(cells, "welds_since_dressing"),
        notes=cells["notes"],
        **{name: _flag(cells, name) for name in _FLAGS},
    )


def _sheet(cells: Mapping[str, str], n: int) -> Sheet:
    upper = _word(cells, f"sheet{n}_upper", Surface.parse, Surface.BARE)
    return Sheet(
        _number(cells, f"sheet{n}_thickness_mm"),
        _word(cells, f"sheet{n}_family", SteelFamily.parse, SteelFamily.LOW_CARBON),
        upper,
        _word(cells, f"sheet{n}_lower", Surface.parse, upper),
        cells[f"sheet{n}_grade"],
    )


def _bond(cells: Mapping[str, str], n: int) -> Bond:
    state = _word(cells, f"bond{n}_state", AdhesiveState.parse, AdhesiveState.NONE)
    return Bond(cells[f"bond{n}_adhesive"], state)


def _result(cells: Mapping[str, str], n: int) -> InterfaceResult:
    readings = [cells[f"interface{n}_{part}_mm"] for part in ("smallest", "largest")]
    smallest, largest = (
        parse_number(text, f"interface{n}_{part}_mm") if text else None
        for text, part in zip(readings, ("smallest", "largest"), strict=True)
    )
    failure = cells[f"interface{n}_failure"]
    return InterfaceResult(smallest, largest, FailureType.parse(failure) if failure else None)


def _time(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            say(
                "made_at is {typed!r}; it must be a date and time such as 2026-03-31T14:05+02:00",
                typed=text,
            )
        ) from None
    if moment.year not in _YEARS:
        raise InputError(
            say(
                "made_at is {typed!r}; the year must be {first} to {last}: correct the date",
                typed=text,
                first=_YEARS[0],
                last=_YEARS[-1],
            )
        )
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _number(cells: Mapping[str, str], name: str, empty: float | None = None) -> float:
    text = cells[name]
    if text:
        return parse_number(text, name)
    if empty is None:
        raise InputError(say("{column} is empty; it must be a number", column=name))
    return empty


def _whole(cells: Mapping[str, str], name: str) -> int | None:
    if not cells[name]:
        return None
    number = parse_number(cells[name], name)
    if number != int(number):
        raise InputError(
            say("{column} is {number:g}; it must be a whole number", column=name, number=number)
        )
    return int(number)


def _word(cells: Mapping[str, str], name: str, parse: Callable[[str], T], empty: T) -> T:
    return parse(cells[name]) if cells[name] else empty


def _flag(cells: Mapping[str, str], name: str) -> bool:
    text = cells[name].casefold()
    if text in {"yes", "true", "1", "y", "x"}:
        return True
    if text in {"", "no", "false", "0", "n"}:
        return False
    raise InputError(
        say("{column} is {typed!r}; it must be yes or no", column=name, typed=cells[name])
    )
