"""What a text may hold, wherever it is typed or read from: asked before anything is stored.

A database on a server refuses the letter of code 0, and no file in UTF-8 can hold half of a
surrogate pair; a text with either would be stored in one place and lost in another.
"""

from __future__ import annotations

import re

from advisor.errors import InputError

#: Longest text of any kind that is stored, about ten printed pages. [letters]
LONGEST_TEXT = 50_000
_UNKEEPABLE = re.compile("[\0\ud800-\udfff]")


def check_text(text: str, what: str, longest: int = LONGEST_TEXT) -> None:
    """Refuse a text that cannot be stored.

    Parameters
    ----------
    text : str
        The text.
    what : str
        What it is, for the sentence.
    longest : int
        How long it may be. [letters]

    Raises
    ------
    InputError
        It is too long, or holds a letter that no file and no database takes.
    """
    if len(text) > longest:
        raise InputError(
            f"{what} has {len(text):,} letters; at most {longest:,} are kept: shorten it"
        )
    if text.isascii() and "\0" not in text:
        return
    found = _UNKEEPABLE.search(text)
    if found is not None:
        raise InputError(
            f"{what} holds a letter that cannot be stored (code {ord(found[0]):04X}, letter "
            f"{found.start() + 1}); type it again without it"
        )
