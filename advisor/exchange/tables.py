"""The whole log as a zip of CSV files, one for each kind of record, with the header as JSON."""

from __future__ import annotations

import csv
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from itertools import groupby
from typing import IO, BinaryIO

from advisor.csv_cells import guarded, unguarded
from advisor.errors import AdvisorError, InputError
from advisor.exchange.fields import shown
from advisor.exchange.header import Header, header_from
from advisor.exchange.json_lines import LONGEST_LINE
from advisor.exchange.kinds import KIND_OF, KINDS, Kind
from advisor.exchange.place import Place
from advisor.exchange.records import Record
from advisor.exchange.strict_json import parse
from advisor.language import say

HEADER_FILE = "log.json"
#: Files a zip may hold at most; ours has one for each kind and the header.
MOST_FILES = 100
#: How many times larger a file may become on unpacking. A log reaches 16 to 60, and with the same
#: long note at every coupon 220 (measured); what was packed to do harm reaches 1000.
LARGEST_RATIO = 500
_SMALL = 1_000_000
_UNREADABLE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OverflowError,
)
_ENCRYPTED = 0x1


def write_tables(file: BinaryIO, header: Header, records: Iterable[Record]) -> None:
    """Write a log, a row at a time.

    Parameters
    ----------
    file : binary file
        Where it is written.
    header : Header
        What the file says of itself.
    records : iterable of Record
        In the order of the kinds.
    """
    groups = groupby(records, key=lambda record: KIND_OF[type(record)])
    kind, some = next(groups, (None, iter(())))
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(HEADER_FILE, json.dumps(header.plain(), ensure_ascii=False, indent=1))
        for each in KINDS:
            with packed.open(_name(each), "w", force_zip64=True) as member:
                _write_rows(member, each, some if each is kind else ())
            if each is kind:
                kind, some = next(groups, (None, iter(())))
    if kind is not None:
        raise ValueError(f"records of the kind {kind.name} are out of turn")


def _name(kind: Kind) -> str:
    return f"{kind.name}.csv"


def _write_rows(member: IO[bytes], kind: Kind, records: Iterable[Record]) -> None:
    text = io.TextIOWrapper(member, encoding="utf-8", newline="")
    writer = csv.writer(text)
    writer.writerow(kind.columns)
    for record in records:
        writer.writerow([guarded(cell) for cell in kind.cells(record)])
    text.detach()


class Tables:
    """A log in a zip of CSV files. Nothing is ever unpacked to a disk.

    Parameters
    ----------
    file : binary file
        It is read as often as its records are asked for.

    Raises
    ------
    InputError
        It is no such zip, or unpacks to too much.
    """

    def __init__(self, file: BinaryIO) -> None:
        with _damage_refused(say("the zip file")):
            self._packed = zipfile.ZipFile(file)
            self._members = _members(self._packed)
            header = self._packed.open(self._members[HEADER_FILE]).read(LONGEST_LINE)
            text = header.decode("utf-8-sig")
        try:
            self.header: Header = header_from(parse(text))
        except InputError as error:
            raise InputError(f"{HEADER_FILE}: {error}") from None
        if not self.header.is_earlier:
            _check_has(self._members, KINDS)

    def rows(self) -> Iterator[tuple[Place, Callable[[], Record]]]:
        """Walk the rows of all tables: where each stands, and what reads it."""
        for kind in KINDS:
            name = _name(kind)
            if name not in self._members:  # a file of an earlier format
                continue
            with _damage_refused(name), self._packed.open(self._members[name]) as member:
                yield from _rows(member, kind, name, earlier=self.header.is_earlier)


def _members(packed: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """Return the files of a zip by name, if they are those of a log and no trap."""
    found = packed.infolist()
    if len(found) > MOST_FILES:
        raise InputError(
            say(
                "the zip holds {found:,} files; a log has {wanted}: choose another file",
                found=len(found),
                wanted=len(KINDS) + 1,
            )
        )
    wanted = {HEADER_FILE, *map(_name, KINDS)}
    members = {each.filename: each for each in found}
    _check_has(members, [kind for kind in KINDS if not kind.later])
    unknown = sorted(set(members) - wanted)
    if unknown:
        raise InputError(
            say(
                "the zip holds {name}, which does not belong to a log; take it out",
                name=shown(unknown[0]),
            )
        )
    if len(members) < len(found):
        raise InputError(
            say("the zip holds a file twice, which does not belong to a log; take it out")
        )
    for each in found:
        _check_member(each)
    return members


def _check_has(members: Collection[str], kinds: Iterable[Kind]) -> None:
    lacking = sorted({HEADER_FILE, *map(_name, kinds)} - set(members))
    if lacking:
        raise InputError(say("the zip has no file {name}; export the log again", name=lacking[0]))


def _check_member(member: zipfile.ZipInfo) -> None:
    if member.flag_bits & _ENCRYPTED:
        raise InputError(say("the zip is locked with a password; pack it again without one"))
    if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise InputError(
            say("the zip is packed in a way that is not read; pack it again as plain zip")
        )
    if member.file_size > _SMALL + LARGEST_RATIO * member.compress_size:
        raise InputError(
            say(
                "{name} would unpack to {size:,} bytes from {packed:,}; no log does, so it is not "
                "read",
                name=member.filename,
                size=member.file_size,
                packed=member.compress_size,
            )
        )


@contextmanager
def _damage_refused(what: str) -> Iterator[None]:
    """Turn what a broken zip raises into one sentence."""
    try:
        yield
    except AdvisorError:
        raise
    except _UNREADABLE as error:
        raise InputError(
            say(
                "{file} is damaged or cut off ({problem}); copy it again, or export the log again",
                file=what,
                problem=error,
            )
        ) from error


def _rows(
    member: IO[bytes], kind: Kind, name: str, *, earlier: bool
) -> Iterator[tuple[Place, Callable[[], Record]]]:
    lines = _Lines(member, name)
    reader = csv.reader(lines, strict=True)
    header: list[str] = []
    while True:
        where = lines.next_row()
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise InputError(
                say("{place} is broken: {problem}", place=where, problem=error)
            ) from None
        if cells is None:
            break
        if not header:
            header = _header(cells, kind, where, earlier=earlier)
        elif cells:
            yield where, partial(_record, kind, header, cells)
    if not header:
        raise InputError(say("{file} is empty; its first line names the columns", file=name))


def _header(cells: Sequence[str], kind: Kind, where: Place, *, earlier: bool) -> list[str]:
    try:
        kind.check_columns(cells, earlier=earlier)
        if len(cells) > len(set(cells)):
            raise InputError(say("it names a column twice; take one away"))
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    return list(cells)


def _record(kind: Kind, header: Sequence[str], cells: Sequence[str]) -> Record:
    if len(cells) != len(header):
        raise InputError(
            say(
                "the line has {cells} cells, the first line {columns}",
                cells=len(cells),
                columns=len(header),
            )
        )
    texts = map(unguarded, cells)
    return kind.from_cells(dict(zip(header, texts, strict=True)))


class _Lines:
    """The lines of a file for a CSV reader; no row may be longer than a line of JSON Lines."""

    def __init__(self, member: IO[bytes], name: str) -> None:
        self._text = io.TextIOWrapper(member, encoding="utf-8-sig", newline="")
        self._name = name
        self._line = 0
        self._left = LONGEST_LINE

    def next_row(self) -> Place:
        """Begin a row; where it stands."""
        self._left = LONGEST_LINE
        return Place(self._line + 1, self._name)

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = self._text.readline(self._left + 1)
        if not line:
            raise StopIteration
        self._left -= len(line)
        if self._left < 0:
            raise InputError(
                say(
                    "{file}, line {line} is part of a row of more than {most:,} letters; no record "
                    "of a log is that long",
                    file=self._name,
                    line=self._line + 1,
                    most=LONGEST_LINE,
                )
            )
        self._line += 1
        return line
