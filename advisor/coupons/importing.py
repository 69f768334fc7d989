"""Reading coupons from anybody's CSV: which column means what, in which unit, and what is missing.

A file is read as a whole into coupons and problems; nothing is stored here. Each problem names the
line of the file and the reason, so that a file with a bad row can be mended and read again.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from advisor.coupons.coupon import Coupon
from advisor.coupons.flat import COLUMNS, FREE_TEXT, from_row
from advisor.csv_cells import unguarded
from advisor.errors import AdvisorError, InputError
from advisor.language import say
from advisor.units import NO_CALIBRATION, Calibration, digits, parse_number, to_inner

#: Largest file read at once. Choice of this project: tens of thousands of rows. [bytes]
LARGEST_BYTES = 10_000_000
#: Column of this tool's own export that says why a coupon no longer counts.
VOIDED = "voided"
#: Columns that decide which joints a coupon can speak for; a foreign file seldom has them all.
DECIDING = (
    "sheet1_family",
    "sheet1_upper",
    "sheet1_lower",
    "sheet2_family",
    "sheet2_upper",
    "sheet2_lower",
    "bond1_state",
    "cap_shape",
    "test",
)
#: Words that mark a lost reading besides an empty cell.
LOST_WORDS = frozenset({"", "na", "n/a", "nan", "-", "–", "none", "null"})


@dataclass(frozen=True)
class From:
    """Where the values of one target column come from.

    Parameters
    ----------
    column : str
        Column of the file; empty when `constant` holds for every row.
    unit : str
        Unit of the file's numbers; empty for the unit in the target's name.
    constant : str
        The same text for every row.
    words : dict
        The file's words and ours, for example ``{"Explode": "yes"}``; a word that is not listed is
        read as it stands, or as `other` when that is set.
    other : str or None
        What a word that is not listed stands for.
    is_own : bool
        Whether the column is one of this tool's own export, whose texts stand as they were typed:
        a note of ``-`` is a note there, and ``none`` says that there is no adhesive.
    """

    column: str = ""
    unit: str = ""
    constant: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    other: str | None = None
    is_own: bool = False


@dataclass(frozen=True)
class Problem:
    """One row that cannot be used.

    Parameters
    ----------
    line : int
        Line of the file, 1 for the header.
    reason : str
        What is wrong and what would be right.
    """

    line: int
    reason: str


@dataclass(frozen=True)
class Reading:
    """What a file holds when read with a column map.

    Parameters
    ----------
    coupons : tuple of Coupon
        The good rows.
    problems : tuple of Problem
        The rows that cannot be used.
    voided : int
        Rows of this tool's own export that were voided there; they stay out.
    """

    coupons: tuple[Coupon, ...]
    problems: tuple[Problem, ...]
    voided: int = 0


#: Targets that are quantities, with their kind and the unit their name ends in.
_KINDS = {
    "thickness_mm": "thickness",
    "face_mm": "diameter",
    "smallest_mm": "diameter",
    "largest_mm": "diameter",
    "current_kA": "current",
    "_ms": "time",
    "force_kN": "force",
}


def kind_of(target: str) -> str:
    """Return the quantity of a target column (a key of `units.FIELDS`), empty for text."""
    return next((kind for end, kind in _KINDS.items() if target.endswith(end)), "")


@dataclass(frozen=True)
class Table:
    """A file as texts.

    Parameters
    ----------
    header : tuple of str
        Column names.
    rows : tuple of dict
        Texts by column name.
    lines : tuple of int
        Line of the file each row stands on, 1 for the header.
    problems : tuple of Problem
        Lines that do not fit the header.
    """

    header: tuple[str, ...]
    rows: tuple[dict[str, str], ...]
    lines: tuple[int, ...]
    problems: tuple[Problem, ...] = ()


def read_table(data: bytes) -> Table:
    """Read a CSV file: comma, semicolon or tab between the cells, UTF-8.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    Table
        Its rows as texts, without what guards them in a spreadsheet; empty lines are skipped.

    Raises
    ------
    InputError
        Too large, not text, no rows, or a column name used twice.
    """
    lines = _split(_decode(data))
    if len(lines) < 2:
        raise InputError(
            say("the file has no rows; the first line names the columns, then the rows")
        )
    header = tuple(name.strip() for name in lines[0][1])
    twice = sorted({name for name in header if header.count(name) > 1})
    if twice:
        raise InputError(
            say("the file names the column {column!r} twice; rename one of them", column=twice[0])
        )
    fitting = [(n, cells) for n, cells in lines[1:] if len(cells) == len(header)]
    problems = tuple(
        Problem(
            n,
            say(
                "the line has {cells} cells, the header {columns}; they must agree",
                cells=len(cells),
                columns=len(header),
            ),
        )
        for n, cells in lines[1:]
        if len(cells) != len(header)
    )
    return Table(
        header,
        tuple(dict(zip(header, map(unguarded, cells), strict=True)) for _, cells in fitting),
        tuple(n for n, _ in fitting),
        problems,
    )


def _decode(data: bytes) -> str:
    if len(data) > LARGEST_BYTES:
        raise InputError(
            say(
                "the file has {size:.1f} MB; at most {most:g} MB are read at once: split it",
                size=len(data) / 1e6,
                most=LARGEST_BYTES / 1e6,
            )
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(say("the file is not UTF-8 text; save it as CSV in UTF-8")) from None
    if "\0" in text:
        raise InputError(say("the file is not text; save it as CSV in UTF-8"))
    return text


def _split(text: str) -> list[tuple[int, list[str]]]:
    """Return (line number, cells) of every line that is not empty."""
    delimiter = max(",;\t", key=text.partition("\n")[0].count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found.append((line, cells))
            line = reader.line_num + 1
    except csv.Error as error:
        raise InputError(
            say("line {line} of the file is broken: {problem}", line=line, problem=error)
        ) from None
    return found


def own_map(header: Sequence[str]) -> dict[str, From]:
    """Return the map that fits a file with our own column names."""
    return {name: From(column=name, is_own=True) for name in header if name in COLUMNS}


def read_coupons(
    table: Table,
    columns: Mapping[str, From],
    calibration: Calibration = NO_CALIBRATION,
    lost: frozenset[str] = frozenset(),
    needed: Sequence[str] = (),
    now: datetime | None = None,
) -> Reading:
    """Turn rows into coupons by a column map.

    Parameters
    ----------
    table : Table
        The file.
    columns : mapping of str to From
        For each target (one of `flat.COLUMNS`) where it comes from.
    calibration : Calibration
        For times in cycles and forces given as air pressure.
    lost : frozenset of str
        Texts that mark a lost reading besides the usual ones, for example ``{"-99"}``.
    needed : sequence of str
        Columns that no row may leave empty.
    now : datetime, optional
        Moment of reading; a coupon from after it is a problem.

    Returns
    -------
    Reading
        Coupons of the good rows, and a problem for each bad one. A diameter that was given once
        (only `largest` or only `smallest` mapped) stands for both.

    Raises
    ------
    InputError
        The map itself cannot work: unknown target, or a column the file does not have.
    """
    _check_map(table.header, columns)
    coupons: list[Coupon] = []
    problems = list(table.problems)
    voided = 0
    for line, row in zip(table.lines, table.rows, strict=True):
        if row.get(VOIDED, "").strip():
            voided += 1
            continue
        try:
            cells = _translate(row, columns, calibration, lost)
            _check_needed(cells, needed)
            coupon = from_row(cells)
            if now is not None:
                coupon.check_time(now)
            coupons.append(coupon)
        except AdvisorError as error:
            problems.append(Problem(line, str(error)))
    return Reading(tuple(coupons), tuple(sorted(problems, key=lambda p: p.line)), voided)


def _check_needed(cells: Mapping[str, str], needed: Sequence[str]) -> None:
    empty = [name for name in needed if not cells.get(name)]
    if empty:
        raise InputError(
            say(
                "{columns} not given; say what the coupon was, this decides which joints it can "
                "speak for",
                columns=", ".join(empty),
            )
        )


def _check_map(header: Sequence[str], columns: Mapping[str, From]) -> None:
    unknown = sorted(set(columns) - set(COLUMNS))
    if unknown:
        raise InputError(
            say(
                "{column!r} is no column of a coupon; known: {known}",
                column=unknown[0],
                known=", ".join(COLUMNS),
            )
        )
    absent = sorted({c.column for c in columns.values() if c.column} - set(header))
    if absent:
        raise InputError(
            say(
                "the file has no column {column!r}; it has: {known}",
                column=absent[0],
                known=", ".join(header),
            )
        )


def _translate(
    row: Mapping[str, str],
    columns: Mapping[str, From],
    calibration: Calibration,
    lost: frozenset[str],
) -> dict[str, str]:
    cells = {
        target: _cell(target, row, source, calibration, lost) for target, source in columns.items()
    }
    for n in range(1, 4):
        low, high = f"interface{n}_smallest_mm", f"interface{n}_largest_mm"
        if (low in columns) != (high in columns):
            only = cells.get(low) or cells.get(high) or ""
            cells[low] = cells[high] = only
    return cells


def _cell(
    target: str,
    row: Mapping[str, str],
    source: From,
    calibration: Calibration,
    lost: frozenset[str],
) -> str:
    if source.is_own and not kind_of(target):
        said = row[source.column]
        return said if target in FREE_TEXT else said.strip()
    text = (row[source.column] if source.column else source.constant).strip()
    if source.words or source.other is not None:
        return source.words.get(text, text if source.other is None else source.other)
    kind = kind_of(target)
    if text.casefold() in LOST_WORDS or text in lost:
        return ""
    if not kind or not source.unit:
        return text
    number = parse_number(text, source.column or target)
    value = to_inner(kind, number, source.unit, calibration)
    return repr(round(value, digits(kind, source.unit) + 6))
