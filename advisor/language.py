"""What people read, in their language: one catalogue, English where nothing else is chosen.

A sentence is written in English where it is said, ``say("weld time is {shown}", shown=...)``, and
is looked up in the catalogue of the language of whoever reads it, ``advisor/languages/*.po``
(gettext). Figures and days that go into it follow that language too: a decimal comma, the names of
the months. What is stored, sealed or written into files that programs read stays English.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path
from string import Formatter
from typing import Any

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.numbers import get_decimal_symbol, get_group_symbol

ENGLISH = "en"
#: Languages by code, each under its own name.
LANGUAGES = {ENGLISH: "English", "de": "Deutsch"}
CATALOGUES = Path(__file__).resolve().parent / "languages"

_spoken: ContextVar[str | None] = ContextVar("language", default=None)
_asked: list[Callable[[], str | None]] = []
#: How a day stands before its month, where not as in English.
_DAY_AND_MONTH = {"de": "%d. %b"}
_NAMES = {"%a": "EEE", "%A": "EEEE", "%b": "MMM", "%B": "MMMM"}


def language() -> str:
    """Return the code of the language that is spoken here."""
    spoken = _spoken.get()
    if spoken is None:
        spoken = next((found for ask in _asked if (found := ask())), None)
    return spoken or ENGLISH


def ask(whoever: Callable[[], str | None]) -> None:
    """Ask somebody for the language wherever none is set; None means that they do not know."""
    if whoever not in _asked:
        _asked.append(whoever)


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Speak a language for a while: English for what is stored, a person's for a print."""
    before = _spoken.set(code if code in LANGUAGES else ENGLISH)
    try:
        yield
    finally:
        _spoken.reset(before)


def msg(message: str) -> str:
    """Mark a sentence for the catalogue that is said later, by `say`; returned as it is."""
    return message


def say(message: str, /, **values: object) -> str:
    """Return a sentence in the language spoken here.

    Parameters
    ----------
    message : str
        The sentence in English, with places in braces as for `str.format`.
    **values : object
        What goes into the places.
    """
    code = language()
    if code == ENGLISH:
        return message.format(**values) if values else _unbraced(message)
    translated = catalogue(code).gettext(message)
    return _InLanguage(code).vformat(translated, (), values)


def say_number(one: str, many: str, number: int, /, **values: object) -> str:
    """Return a sentence about a number of things, which goes into the place ``{number}``.

    Parameters
    ----------
    one, many : str
        The sentence in English for exactly one, and for any other number.
    number : int
        How many.
    **values : object
        What goes into the other places.
    """
    code = language()
    if code == ENGLISH:
        return (one if number == 1 else many).format(number=number, **values)
    translated = catalogue(code).ngettext(one, many, number)
    return _InLanguage(code).vformat(translated, (), {"number": number, **values})


def figure(value: object, form: str = "") -> str:
    """Return a number or a day by a format as for `format`, with this language's marks."""
    return _InLanguage(language()).format_field(value, form)


def listed(items: Iterable[str], joined: str = "and") -> str:
    """Return items as a list in words.

    Parameters
    ----------
    items : iterable of str
        What is listed.
    joined : str
        ``and`` or ``or``.
    """
    found = list(items)
    code = language()
    if code != ENGLISH:
        style = "standard" if joined == "and" else "or"
        return format_list(found, style=style, locale=code)  # type: ignore[arg-type]
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {joined} {found[-1]}"


class _InLanguage(Formatter):
    """Fills places like `str.format`, with the marks and names of a language."""

    def __init__(self, code: str) -> None:
        self.code = code

    def format_field(self, value: Any, format_spec: str) -> str:
        """Format one value."""
        if self.code == ENGLISH or isinstance(value, str | bool):
            return format(value, format_spec)
        if isinstance(value, date):
            format_spec = format_spec.replace("%d %b", _DAY_AND_MONTH.get(self.code, "%d %b"))
            for letters, pattern in _NAMES.items():
                if letters in format_spec:
                    named = format_date(value, pattern, locale=self.code)
                    format_spec = format_spec.replace(letters, named.replace("%", "%%"))
            return format(value, format_spec)
        text = format(value, format_spec)
        return text.translate(_marks(self.code)) if _is_number(value) else text


def _is_number(value: object) -> bool:
    return hasattr(value, "__float__")


def _unbraced(message: str) -> str:
    return message.replace("{{", "{").replace("}}", "}") if "{" in message else message


def decimal_marks(code: str) -> tuple[str, str]:
    """Return what stands before decimals and between thousands in a language."""
    locale = Locale.parse(code)
    return get_decimal_symbol(locale), get_group_symbol(locale)


def percent_mark(code: str) -> str:
    """Return what stands behind a number of per cent in a language, with its blank."""
    return Locale.parse(code).percent_formats[None].pattern.partition("0")[2] or "%"


@cache
def _marks(code: str) -> dict[int, str]:
    decimal, thousands = decimal_marks(code)
    return {ord("."): decimal, ord(","): thousands, ord("%"): percent_mark(code)}


@cache
def catalogue(code: str) -> NullTranslations:
    """Return a language's catalogue; empty where there is none.

    Parameters
    ----------
    code : str
        A key of `LANGUAGES`.
    """
    path = CATALOGUES / f"{code}.po"
    if not path.exists():
        return NullTranslations()
    with path.open("rb") as file:
        read = read_po(file, locale=code)
    compiled = io.BytesIO()
    write_mo(compiled, read)
    compiled.seek(0)
    return GNUTranslations(compiled)
