"""Cells of a CSV file that no spreadsheet takes for a formula, there and back without loss.

A spreadsheet runs a cell that begins like a formula, whatever wrote it. Such a text gets an
apostrophe in front, which spreadsheets take for the mark of plain text; reading takes exactly that
apostrophe away again. Which beginnings are taken for a formula is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

GUARD = "'"
# Some spreadsheets drop blanks and letters without a shape before they look.
_BLANK = "\\s\\x00-\\x1f\\x7f-\\x9f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
_BEGINS = re.compile(
    f"{GUARD}*(?:[\t\r\n]|[{_BLANK}]*[=+\\-@\uff1d\uff0b\uff0d\uff20\u2212\ufe62\ufe63\ufe66\ufe6b])"
)
_NUMBER = re.compile(rf"{GUARD}*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)


def guarded(text: str) -> str:
    """Return a text as a cell that is shown and never calculated.

    Parameters
    ----------
    text : str
        Any text. A plain number such as ``-0.5`` stays as it is.
    """
    return GUARD + text if _is_like_a_formula(text) else text


def unguarded(cell: str) -> str:
    """Return the text of a cell; the reverse of `guarded`, for every text."""
    return cell[1:] if cell.startswith(GUARD) and _is_like_a_formula(cell) else cell


def guarded_row(row: Mapping[str, object]) -> dict[str, str]:
    """Return a row with every cell guarded.

    Parameters
    ----------
    row : mapping
        Cells by column name.
    """
    return {name: guarded(str(cell)) for name, cell in row.items()}


def _is_like_a_formula(text: str) -> bool:
    # Apostrophes in front do not count: what is guarded is still like a formula behind its guard.
    return _BEGINS.match(text) is not None and _NUMBER.fullmatch(text) is None
