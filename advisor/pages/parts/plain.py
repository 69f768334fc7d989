"""Text of a person shown as it was typed, where the page would read it as Markdown.

Streamlit reads labels, messages and lines as Markdown with colours, icons, links, pictures and
formulas of its own. What somebody typed, and every sentence that repeats it, goes through `plain`
there; in HTML it goes through `html.escape`.
"""

from __future__ import annotations

import re

#: Without a width and without a meaning: it parts what is still read after Markdown was.
_JOINER = "\u2060"
_LINE_END = re.compile(r"[^\S\r\n]*[\r\n]\s*")
#: An underscore inside a word, as in kA_max, is none.
_MARKUP = re.compile(r"[\\`*\[\]<>$~|&]|:(?=[A-Za-z:])|(?<![A-Za-z0-9])_|_(?![A-Za-z0-9])")
_AT_START = re.compile(r"^(?:[#+=-]|[0-9]+(?=[.)](?:\s|$)))", re.MULTILINE)
#: Names of emoji and icons, addresses, and pairs of signs that become one; no backslash helps.
_READ_LATER = (
    re.compile(r"(:)(?=[\w+/-]+:)"),
    re.compile(r"(https?|ww)(?=://|w\.)", re.IGNORECASE),
    re.compile(r"(?<=\S)()(?=@)"),
    re.compile(r"(?:(?<=\s)|^)(<-|[-<>~])(?=[->=](?:\s|$))", re.MULTILINE),
)
_OPENS = re.compile("[\u202a\u202b\u202d\u202e]"), re.compile("[\u2066-\u2068]")
_CLOSES = "\u202c", "\u2069"


def plain(text: object) -> str:
    """Return Markdown that shows a text, or an error's sentence, letter for letter.

    Parameters
    ----------
    text : object
        What is shown, line breaks kept; blanks at the ends and in a row show as one at most.

    Returns
    -------
    str
        Every sign of Markdown escaped; what turns the direction of writing ends with the text.
    """
    said = closed(str(text).strip())
    for pattern in _READ_LATER:
        said = pattern.sub(rf"\g<1>{_JOINER}", said)
    said = _MARKUP.sub(r"\\\g<0>", _LINE_END.sub("\n", said))
    return _AT_START.sub(_at_start, said).replace("\n", "  \n")


def closed(text: str) -> str:
    """Return a text that leaves the direction of writing as it found it.

    Parameters
    ----------
    text : str
        Any text; one without letters that turn the direction stays as it is.
    """
    for opens, close in zip(_OPENS, _CLOSES, strict=True):
        text += close * max(0, len(opens.findall(text)) - text.count(close))
    return text


def _at_start(found: re.Match[str]) -> str:
    sign = found[0]
    return sign + "\\" if sign.isdigit() else "\\" + sign
