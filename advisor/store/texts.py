"""Every text is looked at before it is stored, so that both databases take the same ones.

Rows that are sealed are looked at when they get their seal, by whatever way they are written; all
others, and all that is asked for by name, as their statement goes to the database.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, String, Table
from sqlalchemy.sql.compiler import SQLCompiler

from advisor.store.field_words import field_words
from advisor.store.schema import SEALED
from advisor.text_rules import LONGEST_TEXT, check_text

#: Their rows are looked at when they are sealed.
_CHECKED_BEFORE = frozenset(SEALED)


def check_row(table: Table, values: Mapping[str, Any]) -> None:
    """Refuse a row with a text that cannot be stored.

    Parameters
    ----------
    table : Table
        Where it is to be written.
    values : mapping
        Its columns.

    Raises
    ------
    InputError
        A text cannot be stored, or is longer than its column; the sentence names the column.
    """
    for name, text in _texts(values):
        _check(name, text, _length(table.c[name].type))


def check_statement(
    connection: Connection,
    cursor: Any,
    statement: str,
    parameters: Any,
    context: Any,
    executemany: bool,
) -> None:
    """Refuse a statement with a text that cannot be stored, as `check_row`; an engine's event."""
    # A statement that makes tables, or is written out in this program, has nobody's values.
    compiled = getattr(context, "compiled", None)
    if not isinstance(compiled, SQLCompiler) or getattr(context, "texts_are_checked", False):
        return
    if compiled.isinsert and getattr(compiled.statement, "table", None) in _CHECKED_BEFORE:
        return
    # Rows written in one go come here once a row, with the values of all.
    context.texts_are_checked = True
    writes = compiled.isinsert or compiled.isupdate
    for values in context.compiled_parameters:
        for name, text in _texts(values):
            _check(name, text, _length(compiled.binds[name].type) if writes else LONGEST_TEXT)


def _check(name: str, text: str, longest: int) -> None:
    # Nearly every text is short and plain, and a long import has millions of them.
    if len(text) > longest or not text.isascii() or "\0" in text:
        check_text(text, _words(name), longest)


def _length(kind: Any) -> int:
    return (kind.length if isinstance(kind, String) else None) or LONGEST_TEXT


def _texts(values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, value in values.items():
        if isinstance(value, str):
            yield name, value
        elif isinstance(value, list | tuple):
            yield from ((name, each) for each in value if isinstance(each, str))


def _words(name: str) -> str:
    """Return the name of a value as words: ``name_key_1`` is the name key."""
    return field_words(name.rstrip("_0123456789"))
