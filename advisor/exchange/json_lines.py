"""The whole log as JSON Lines: a header, then one object a line, UTF-8."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import BinaryIO

from advisor.errors import InputError
from advisor.exchange.fields import shown
from advisor.exchange.header import Header, header_from
from advisor.exchange.kinds import KIND_NAMED, KIND_OF, KINDS
from advisor.exchange.place import Place
from advisor.exchange.records import Record
from advisor.exchange.strict_json import parse
from advisor.language import say

#: Longest line that is read. Choice of this project: no record of a log is as long. [bytes]
LONGEST_LINE = 1_000_000
_KIND = "kind"
_MARK = "\ufeff"  # some editors put it in front of a text in UTF-8


def write_json_lines(file: BinaryIO, header: Header, records: Iterable[Record]) -> None:
    """Write a log, a line at a time.

    Parameters
    ----------
    file : binary file
        Where it is written.
    header : Header
        What the file says of itself.
    records : iterable of Record
        In the order of the kinds.
    """
    file.write(_line(header.plain()))
    for record in records:
        kind = KIND_OF[type(record)]
        file.write(_line({_KIND: kind.name, **kind.plain(record)}))


def _line(plain: object) -> bytes:
    text = json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8") + b"\n"


class JsonLines:
    """A log in a file of JSON Lines.

    Parameters
    ----------
    file : binary file
        It is read from its beginning, as often as its records are asked for.

    Raises
    ------
    InputError
        The first line is no header.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        first = next(_lines(file), None)
        if first is None:
            raise InputError(say("the file is empty; choose a file that this program has exported"))
        try:
            self.header: Header = header_from(parse(_text(first[1])))
        except InputError as error:
            raise InputError(f"{first[0]}: {error}") from None

    def rows(self) -> Iterator[tuple[Place, Callable[[], Record]]]:
        """Walk the lines behind the header: where each stands, and what reads it."""
        lines = _lines(self._file)
        next(lines, None)
        read = partial(_record, earlier=self.header.is_earlier)
        return ((where, partial(read, line)) for where, line in lines)


def _lines(file: BinaryIO) -> Iterator[tuple[Place, bytes]]:
    file.seek(0)
    number = 0
    while line := file.readline(LONGEST_LINE + 1):
        number += 1
        if len(line) > LONGEST_LINE:
            raise InputError(
                say(
                    "line {line} is longer than {most:,} bytes; no record of a log is, and the "
                    "file is no log of this program or is damaged",
                    line=number,
                    most=LONGEST_LINE,
                )
            )
        if line.strip():
            yield Place(number), line


def _text(line: bytes) -> str:
    try:
        return line.decode("utf-8").removeprefix(_MARK)
    except UnicodeDecodeError as error:
        raise InputError(
            say(
                "byte {byte} is no UTF-8; the file is damaged or was saved in another encoding",
                byte=error.start + 1,
            )
        ) from None


def _record(line: bytes, *, earlier: bool) -> Record:
    plain = parse(_text(line))
    if not isinstance(plain, dict) or _KIND not in plain:
        raise InputError(say("it is no record; every line is a JSON object with its kind"))
    name = plain.pop(_KIND)
    kind = KIND_NAMED.get(name) if isinstance(name, str) else None
    if kind is None:
        known = ", ".join(each.name for each in KINDS)
        raise InputError(
            say("kind is {found}; it must be one of {kinds}", found=shown(name), kinds=known)
        )
    return kind.from_plain(plain, earlier=earlier)
