"""Pages on which every number shows whether a sentence, or `figure`, has written it.

Numbers that go through `advisor.language` stand between two marks, and so do the words of every
sentence; what is left outside of the marks was written by nobody who can be asked.
"""

import re
from string import Formatter

from said_texts import _nodes, _texts

from advisor import language

NUMBER, WORDS = ("\ue000", "\ue001"), ("\ue002", "\ue003")
_DIGIT = re.compile(r"\d")


class Marking(Formatter):
    """Fills places like the real one, with marks round numbers and days; keeps what it filled."""

    #: Sentence, place, and whether a number or a moment has gone into it.
    filled: set[tuple[str, str, bool]]

    def __init__(self, code):
        self.code = code

    def format_field(self, value, form):
        if isinstance(value, str | bool):
            return format(value, form)
        return format(value, form).join(NUMBER)

    def vformat(self, sentence, args, values):
        said = sentence.translate({ord(mark): "" for mark in WORDS})
        for _, place, _, _ in self.parse(sentence):
            if place is not None:
                value = values[place]
                is_number = not isinstance(value, str | bool) and hasattr(value, "__float__")
                self.filled.add((said, place, is_number))
        return super().vformat(sentence, args, values)


class Marks:
    """A catalogue of the English sentences, with their own words between marks."""

    def gettext(self, message):
        return "".join(self._parts(message))

    def ngettext(self, one, many, number):
        return self.gettext(one if number == 1 else many)

    def _parts(self, message):
        for words, place, form, how in Formatter().parse(message):
            if words:
                yield words.replace("{", "{{").replace("}", "}}").join(WORDS)
            if place is not None:
                yield f"{{{place}{'!' + how if how else ''}{':' + form if form else ''}}}"


def mark(monkeypatch):
    """Let everything that is said carry marks; return what places are filled with."""
    monkeypatch.setattr(Marking, "filled", set(), raising=False)
    monkeypatch.setattr(language, "catalogue", lambda code: Marks())
    monkeypatch.setattr(language, "_InLanguage", Marking)
    monkeypatch.setattr(language, "_asked", [lambda: "de"])
    return Marking.filled


def outside(text):
    """Return what of a text stands outside of all marks, with blanks for the rest."""
    for begin, end in (NUMBER, WORDS):
        inner = re.compile(f"{begin}[^{begin}{end}]*{end}")
        while (left := inner.sub(" ", text)) != text:
            text = left
    return text


def untraced(app):
    """Return the texts of a page with digits outside of all marks: kind of element, and text."""
    assert not app.exception, app.exception[0].message
    return {
        (type(node).__name__, left)
        for node in _nodes(app._tree)
        for text in _texts(getattr(node, "proto", None))
        if _DIGIT.search(left := outside(text))
    }
