"""Two people at once: what a form started from against what is stored now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any, Final

from advisor.errors import LostRaceError
from advisor.language import figure, say
from advisor.store.field_words import field_words
from advisor.weld.words import TradeWord

#: A form that does not say what it started from is not compared.
ANYTHING: Final = object()


def check_start(what: str, started_from: object, stored: object, mine: object) -> None:
    """Refuse to write over what somebody else has changed in the meantime.

    Parameters
    ----------
    what : str
        What the record is called, for the sentence.
    started_from : object
        The record as it was when the form was opened; None when there was none, `ANYTHING` when
        it does not matter.
    stored : object
        The record as it is stored now; None when there is none.
    mine : object
        The record that was to be written.

    Raises
    ------
    LostRaceError
        Stored and started from differ; the text shows both versions where they differ.
    """
    if started_from is ANYTHING or stored == started_from or stored == mine:
        return
    raise LostRaceError(
        say(
            "{what} was changed by somebody else since this form was opened, so nothing of yours "
            "is stored yet. {differences}. Keep yours once more to write it over theirs, or leave "
            "theirs.",
            what=what,
            differences=side_by_side(stored, mine),
        )
    )


def differences(one: object, other: object, name: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Walk two records and yield each field in which they differ: its name and both values.

    The name is empty where the records differ as a whole.
    """
    if is_dataclass(one) and is_dataclass(other) and type(one) is type(other):
        for field in fields(one):
            label = f"{name}, {field.name}" if name else field.name
            yield from differences(getattr(one, field.name), getattr(other, field.name), label)
    elif isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for place, (mine, theirs) in enumerate(zip(one, other, strict=True), start=1):
            yield from differences(mine, theirs, f"{name} {place}")
    elif one != other:
        yield name, one, other


def side_by_side(stored: object, mine: object) -> str:
    """Say in words where two versions of a record differ."""
    parts = [
        say(
            "{part}: stored {stored}, yours {yours}",
            part=_part(name),
            stored=_words(now),
            yours=_words(ours),
        )
        for name, now, ours in differences(stored, mine)
    ]
    return "; ".join(parts) or say("Both say the same")


def _part(name: str) -> str:
    """Return the name of a field in words: ``results 1, smallest_mm`` is two steps down."""
    if not name:
        return say("all of it")
    steps = (step.partition(" ") for step in name.split(", "))
    return ", ".join(f"{field_words(field)}{space}{place}" for field, space, place in steps)


def _words(value: object) -> str:
    if value is None or value == "":
        return say("nothing")
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, TradeWord):
        return value.label
    return figure(value, "g") if isinstance(value, float) else str(value)
