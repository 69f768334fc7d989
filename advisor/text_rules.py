"""What a text may hold, wherever it is typed or read from: asked before anything is stored.

A database on a server refuses the letter of code 0, and no file in UTF-8 can hold half of a
surrogate pair; a text with either would be stored in one place and lost in another.
"""

from __future__ import annotations

import re

from advisor.errors import InputError
from advisor.language import say

#: Longest text of any kind that is stored, about ten printed pages. Choice of this project.
#: [letters]
LONGEST_TEXT = 50_000
_UNKEEPABLE = re.compile("[\0\ud800-\udfff]")


def check_text(text: str, what: str, longest: int = LONGEST_TEXT) -> None:
    """Refuse a text that cannot be stored.

    Parameters
    ----------
    text : str
        The text.
    what : str
        What it is, for the sentence, in the language spoken.
    longest : int
        How long it may be. [letters]

    Raises
    ------
    InputError
        It is too long, or holds a letter that no file and no database takes.
    """
    if len(text) > longest:
        raise InputError(
            say(
                "{what} has {letters:,} letters; at most {most:,} are kept: shorten it",
                what=what,
                letters=len(text),
                most=longest,
            )
        )
    if text.isascii() and "\0" not in text:
        return
    found = _UNKEEPABLE.search(text)
    if found is not None:
        raise InputError(
            say(
                "{what} holds a letter that cannot be stored (code {code:04X}, letter {place}); "
                "type it again without it",
                what=what,
                code=ord(found[0]),
                place=found.start() + 1,
            )
        )
