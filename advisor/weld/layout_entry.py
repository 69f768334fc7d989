"""Original welds read from typed places."""

from __future__ import annotations

import re

from advisor.errors import InputError
from advisor.language import say
from advisor.units import parse_number, to_inner
from advisor.weld.layout_flange import OldSite


def read_sites(text: str, unit: str, size_mm: float) -> tuple[OldSite, ...]:
    """Read typed places, such as ``20; 60; 104/10``: behind a slash the size of that site.

    Parameters
    ----------
    text : str
        Places and sizes in `unit`, parted by spaces, lines or semicolons.
    unit : str
        The person's unit of length.
    size_mm : float
        Size of every site without one of its own. [mm]

    Raises
    ------
    InputError
        Something is not a number, or a comma can be read two ways.
    """
    words = re.split(r"[;\s]+", re.sub(r"\s*/\s*", "/", text).strip())
    words = [word.strip(",") for word in words if word.strip(",")]
    if any(word.count(",") > 1 for word in words) or (len(words) == 1 and "," in words[0]):
        raise InputError(
            say(
                "the places {typed!r} can be read in more than one way; part them by spaces or "
                "semicolons, such as 20; 60; 100",
                typed=text.strip(),
            )
        )
    return tuple(_site(word, unit, size_mm) for word in words)


def _site(word: str, unit: str, size_mm: float) -> OldSite:
    place, slash, size = word.partition("/")
    place_mm = _length_mm(place, say("the place of an original weld"), unit)
    if not slash:
        return OldSite(place_mm, size_mm)
    return OldSite(place_mm, _length_mm(size, say("the size of a site"), unit))


def _length_mm(typed: str, what: str, unit: str) -> float:
    return to_inner("length", parse_number(typed, what), unit)
