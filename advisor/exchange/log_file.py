"""Any file of a whole log, opened by what it holds and not by its name."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO, Protocol

from advisor.errors import InputError
from advisor.exchange.header import Header
from advisor.exchange.json_lines import JsonLines
from advisor.exchange.order import Order
from advisor.exchange.place import Place
from advisor.exchange.records import Record
from advisor.exchange.tables import Tables

_ZIP = b"PK"


@dataclass(frozen=True)
class Placed:
    """A record and where it stands in its file.

    Parameters
    ----------
    place : Place
        Its line.
    record : Record
        The record.
    """

    place: Place
    record: Record

    @property
    def where(self) -> str:
        """The place for a sentence, for example ``line 12``."""
        return str(self.place)


class _Source(Protocol):
    header: Header

    def rows(self) -> Iterator[tuple[Place, Callable[[], Record]]]: ...


class LogFile:
    """The whole log of a shop in a file, checked as it is read.

    Parameters
    ----------
    file : binary file
        JSON Lines or a zip of CSV files; it must be one that can be read from the beginning again.

    Raises
    ------
    InputError
        It is no file of a whole log, or of another version.
    """

    def __init__(self, file: BinaryIO) -> None:
        file.seek(0)
        begins = file.read(len(_ZIP))
        self._source: _Source = Tables(file) if begins == _ZIP else JsonLines(file)

    @property
    def header(self) -> Header:
        """What the file says of itself."""
        return self._source.header

    def records(self) -> Iterator[Placed]:
        """Walk the records, a few at a time in memory; again from the beginning at each call.

        Raises
        ------
        InputError
            The first record that cannot be used, with its line and the reason, or at the end what
            is missing.
        """
        order = Order(self.header)
        for place, read in self._source.rows():
            try:
                record = read()
                order.check(record)
            except InputError as error:
                raise InputError(f"{place}: {error}") from None
            yield Placed(place, record)
        order.finish()

    def problems(self, most: int = 20) -> list[str]:
        """Return what keeps the file from being brought in, at most so many sentences."""
        order = Order(self.header)
        found: list[str] = []
        try:
            for place, read in self._source.rows():
                try:
                    order.check(read())
                except InputError as error:
                    found.append(f"{place}: {error}")
                if len(found) >= most:
                    return found
            if not found:
                order.finish()
        except InputError as error:
            found.append(str(error))
        return found
