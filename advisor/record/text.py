"""Text for paper: whatever a user typed, in letters that the print's own font has.

The print uses the fonts every PDF reader carries, which know Western European letters only
(code page 1252). What they lack is written with its nearest letter or as a visible mark, and the
print says so; JSON and CSV keep every letter as typed.
"""

from __future__ import annotations

import re
import unicodedata

from advisor.language import msg, say

#: Stands for a letter that the print cannot show.
MARK = "¤"
ENCODING = "windows-1252"
LOSSY = msg(
    "Some letters cannot be shown in this print: they are written with their nearest letter or "
    "as ¤. The JSON and CSV files of this record hold them as typed."
)
_AS_WORDS = {
    "√": msg("root"),
    "≠": msg("not equal to"),
    "≈": msg("about"),
    "⌀": msg("dia."),
    "∅": msg("dia."),
}
_AS_SIGNS = {
    "≥": ">=",
    "≤": "<=",
    "→": "->",
    "−": "-",
    "\u2010": "-",
    "\u2011": "-",
    "\u03a9": "ohm",
    "\u2126": "ohm",
    "\u03bc": "\u00b5",
    "\t": " ",
    "\r": "",
    "\v": "\n",
    "\f": "\n",
    "\u2028": "\n",
    "\u2029": "\n",
}
#: Letters that Unicode does not take apart into a base letter and its accent.
_NEAREST = dict(zip("ĐđĦħıĸŁłŊŋŦŧ", "DdHhikLlNnTt", strict=True))
_FACTOR = re.compile(r"(?<=\d)\s*√")
_SPACES = re.compile(r"\s+")


def printable(text: str) -> str:
    """Return a text in letters the print can show, line breaks kept.

    Parameters
    ----------
    text : str
        Any text; lone surrogates, control and invisible characters included.
    """
    named = _FACTOR.sub(" x √", text)
    return "".join(_letter(each) for each in named)


def is_lossy(text: str) -> bool:
    """Whether the print shows a text in other letters than were typed; symbols in words are not."""
    return any(_letter(each) != each for each in text if each not in _AS_WORDS | _AS_SIGNS)


def one_line(text: str, longest: int) -> str:
    """Return a printable text on one line, cut with an ellipsis where it is longer.

    Parameters
    ----------
    text : str
        Any text.
    longest : int
        Letters that fit.
    """
    line = _SPACES.sub(" ", printable(text)).strip()
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def _letter(char: str) -> str:
    if char in _AS_WORDS:
        return f"{say(_AS_WORDS[char])} "
    if char in _AS_SIGNS:
        return _AS_SIGNS[char]
    kind = unicodedata.category(char)
    if kind == "Cf":
        return ""
    if char == "\n" or (kind != "Cc" and _has(char)):
        return char
    if kind in {"Mn", "Me"}:
        return ""
    return _nearest(char)


def _nearest(char: str) -> str:
    apart = unicodedata.normalize("NFKD", _NEAREST.get(char, char))
    base = "".join(each for each in apart if not unicodedata.combining(each))
    return base if base and all(each.isprintable() and _has(each) for each in base) else MARK


def _has(char: str) -> bool:
    try:
        char.encode(ENCODING)
    except UnicodeEncodeError:
        return False
    return True
