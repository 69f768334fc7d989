"""One field of a record: its value here, in JSON and in a cell of CSV; strict when it is read.

What is read is taken only in its one form: a number is no text, a text is no number, a moment has
its offset. Every refusal says what stands there and what would be right.
"""

from __future__ import annotations

import json
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from advisor.errors import InputError
from advisor.exchange.strict_json import parse
from advisor.language import say
from advisor.text_rules import check_text
from advisor.weld.words import TradeWord

#: Largest whole number that every database keeps in one column.
LARGEST_WHOLE = 2**31 - 1
#: Years a moment may lie in; anything else is a slip. Choice of this project.
YEARS = range(1900, 3000)
_NUMBER = re.compile(r"-?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_WHOLE = re.compile("[0-9]{1,10}")
_SHOWN = 40


def shown(value: object) -> str:
    """Return what was read, short enough for a sentence."""
    text = repr(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 2] + " …"


@dataclass(frozen=True)
class Field(ABC):
    """A field of a record.

    Parameters
    ----------
    name : str
        Its name, with its unit at the end.
    optional : bool
        Whether nothing may stand there: null in JSON, an empty cell in CSV.
    later : bool
        Whether files of an earlier format do not have it, which reads as nothing.
    """

    name: str
    optional: bool = False
    later: bool = False

    def read(self, plain: object) -> Any:
        """Return the value of what stands in JSON; `InputError` says what would be right."""
        if plain is None and self.optional:
            return None
        return self._value(plain)

    def write(self, value: Any) -> Any:
        """Return what stands in JSON for a value."""
        return None if value is None else self._plain(value)

    def cell(self, value: Any) -> str:
        """Return the text of a CSV cell for a value, not yet guarded."""
        return "" if value is None else self._cell(value)

    def read_cell(self, cell: str) -> Any:
        """Return the value of a CSV cell; `InputError` says what would be right."""
        if not cell and self.optional:
            return None
        return self._value(self._from_cell(cell))

    def refused(self, found: object) -> InputError:
        """Return the error for something that this field cannot be."""
        return InputError(
            say(
                "{field} is {found}; it must be {wanted}",
                field=self.name,
                found=shown(found),
                wanted=self.wanted(),
            )
        )

    @abstractmethod
    def wanted(self) -> str:
        """Return what would be right, in words."""

    @abstractmethod
    def _value(self, plain: object) -> Any: ...

    def _plain(self, value: Any) -> Any:
        return value

    def _cell(self, value: Any) -> str:
        return str(value)

    def _from_cell(self, cell: str) -> object:
        return cell


@dataclass(frozen=True)
class Text(Field):
    """Free text; where it is optional, nothing and an empty text are not told apart."""

    longest: int = 200

    def wanted(self) -> str:
        """Return what would be right, in words."""
        if self.optional:
            return say("a text that is not empty, or null")
        return say("a text")

    def _value(self, plain: object) -> str:
        if not isinstance(plain, str) or (self.optional and not plain):
            raise self.refused(plain)
        check_text(plain, self.name, self.longest)
        return plain


@dataclass(frozen=True)
class Coded(Field):
    """One of a few codes, exactly as listed."""

    codes: tuple[str, ...] = ()

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("one of {codes}", codes=", ".join(self.codes))

    def _value(self, plain: object) -> str:
        if not isinstance(plain, str) or plain not in self.codes:
            raise self.refused(plain)
        return plain


@dataclass(frozen=True)
class Word(Field):
    """One of a closed list of trade words, by its code."""

    words: type[TradeWord] = TradeWord

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("one of {codes}", codes=", ".join(word.value for word in self.words))

    def _value(self, plain: object) -> TradeWord:
        word = self.words._value2member_map_.get(plain) if isinstance(plain, str) else None
        if not isinstance(word, TradeWord):
            raise self.refused(plain)
        return word

    def _plain(self, value: Any) -> Any:
        return value.value

    def _cell(self, value: Any) -> str:
        return str(value.value)


@dataclass(frozen=True)
class Hexadecimal(Field):
    """A SHA-256 as 64 digits."""

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("64 hexadecimal digits in small letters")

    def _value(self, plain: object) -> str:
        if not isinstance(plain, str) or re.fullmatch("[0-9a-f]{64}", plain) is None:
            raise self.refused(plain)
        return plain


@dataclass(frozen=True)
class Number(Field):
    """A measured number, to the last figure."""

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("a finite number such as 9.5")

    def _value(self, plain: object) -> float:
        if isinstance(plain, bool) or not isinstance(plain, int | float):
            raise self.refused(plain)
        try:
            number = float(plain)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self.refused(plain)
        return number

    def _plain(self, value: Any) -> Any:
        return float(value)

    def _cell(self, value: Any) -> str:
        return repr(float(value))

    def _from_cell(self, cell: str) -> object:
        return float(cell) if _NUMBER.fullmatch(cell) else cell


@dataclass(frozen=True)
class Whole(Field):
    """A whole number within its limits."""

    low: int = 0
    high: int = LARGEST_WHOLE

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("a whole number from {low:,} to {high:,}", low=self.low, high=self.high)

    def _value(self, plain: object) -> int:
        if isinstance(plain, bool) or not isinstance(plain, int):
            raise self.refused(plain)
        if not self.low <= plain <= self.high:
            raise self.refused(plain)
        return plain

    def _plain(self, value: Any) -> Any:
        return int(value)

    def _from_cell(self, cell: str) -> object:
        return int(cell) if _WHOLE.fullmatch(cell) else cell


@dataclass(frozen=True)
class Flag(Field):
    """Yes or no."""

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say("true or false (yes or no in CSV)")

    def _value(self, plain: object) -> bool:
        if not isinstance(plain, bool):
            raise self.refused(plain)
        return plain

    def _cell(self, value: Any) -> str:
        return "yes" if value else "no"

    def _from_cell(self, cell: str) -> object:
        return {"yes": True, "no": False}.get(cell, cell)


@dataclass(frozen=True)
class Moment(Field):
    """A moment, kept in UTC."""

    def wanted(self) -> str:
        """Return what would be right, in words."""
        return say(
            "a date and time with its offset such as 2026-03-31T12:05:00+00:00, in the years "
            "{first} to {last}",
            first=YEARS[0],
            last=YEARS[-1],
        )

    def _value(self, plain: object) -> datetime:
        if not isinstance(plain, str):
            raise self.refused(plain)
        try:
            moment = datetime.fromisoformat(plain)
            if moment.tzinfo is None:
                raise self.refused(plain)
            moment = moment.astimezone(UTC)
        except (ValueError, OverflowError):
            raise self.refused(plain) from None
        if moment.year not in YEARS:
            raise self.refused(plain)
        return moment

    def _plain(self, value: Any) -> Any:
        return value.astimezone(UTC).isoformat()

    def _cell(self, value: Any) -> str:
        return str(self._plain(value))


@dataclass(frozen=True)
class Listed(Field):
    """A list of rows, each with the same fields; in CSV it is JSON in one cell."""

    parts: tuple[Field, ...] = ()

    def wanted(self) -> str:
        """Return what would be right, in words."""
        names = ", ".join(part.name for part in self.parts)
        return say("a list of lists [{fields}]", fields=names)

    def _value(self, plain: object) -> tuple[Any, ...]:
        if not isinstance(plain, list):
            raise self.refused(plain)
        return tuple(self._row(each) for each in plain)

    def _row(self, plain: object) -> tuple[Any, ...]:
        if not isinstance(plain, list) or len(plain) != len(self.parts):
            raise self.refused(plain)
        try:
            return tuple(part.read(each) for part, each in zip(self.parts, plain, strict=True))
        except InputError as error:
            raise InputError(f"{self.name}: {error}") from None

    def _plain(self, value: Any) -> Any:
        return [self._plain_row(each) for each in value]

    def _plain_row(self, row: Sequence[Any]) -> list[Any]:
        return [part.write(each) for part, each in zip(self.parts, row, strict=True)]

    def _cell(self, value: Any) -> str:
        return json.dumps(self._plain(value), ensure_ascii=False)

    def _from_cell(self, cell: str) -> object:
        try:
            return parse(cell)
        except InputError as error:
            raise InputError(
                say(
                    "{field} is {found}; {problem}",
                    field=self.name,
                    found=shown(cell),
                    problem=error,
                )
            ) from None
