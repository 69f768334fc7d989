"""JSON read strictly: no key twice, no NaN and no infinity, nothing a number cannot hold."""

from __future__ import annotations

import json
import math
from collections import Counter
from typing import Any

from advisor.errors import InputError
from advisor.language import say

#: Longest whole number that is read; nothing in a log has as many digits.
_MOST_DIGITS = 400


def parse(text: str) -> Any:
    """Read one JSON value.

    Parameters
    ----------
    text : str
        The value and nothing else.

    Raises
    ------
    InputError
        It is no JSON, names a key of an object twice, or holds a number that is none.
    """
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise InputError(
            say(
                "it is no JSON: {problem} (letter {letter})",
                problem=error.msg,
                letter=error.pos + 1,
            )
        ) from None
    except RecursionError:
        raise InputError(say("it is nested too deeply; a record is flat")) from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        ((twice, _),) = Counter(key for key, _ in pairs).most_common(1)
        raise InputError(say("it names {name!r} twice; take one away", name=twice[:40]))
    return found


def _no_number(word: str) -> Any:
    raise InputError(say("it holds {word}, which is no number; a lost reading is null", word=word))


def _float(text: str) -> float:
    number = float(text)
    if math.isinf(number):
        raise InputError(say("it holds {found}, a number that is too large", found=text[:20]))
    return number


def _int(text: str) -> int:
    if len(text) > _MOST_DIGITS:
        raise InputError(
            say(
                "it holds a whole number of {digits:,} digits; that is too large",
                digits=len(text),
            )
        )
    return int(text)


_DECODER = json.JSONDecoder(
    object_pairs_hook=_once, parse_constant=_no_number, parse_float=_float, parse_int=_int
)
