"""What a page says that no catalogue has translated."""

import re

#: Fields of Streamlit's messages that people read.
_READ = {"body", "content", "help", "label", "options", "placeholder", "text", "title", "value"}
_DAY = re.compile(r"\b\d\d\.? [^\W\d]+\.?(?= \d)")
_MARKS = re.compile(r"</?(?:b|i|em)>")
#: Said without words: units, the names of languages, what a test's shop is called in its log.
_SAME_EVERYWHERE = re.compile(
    r"\b(mm|in|kA|A|ms|kN|daN|N|lbf|bar|psi|min|h|Hz|C|English|Deutsch|Sam|Bay gun|Test epoxy|RO"
    r"|sill)\b|&\w+;"
)
_SAID = re.compile(r"⟦[^⟦⟧]*⟧")
_LETTERS = re.compile(r"[^\W\d_]")


def unsaid(app):
    """Return every text of a page with letters outside of ⟦⟧, as it is shown."""
    assert not app.exception
    found = (text for node in _nodes(app._tree) for text in _texts(getattr(node, "proto", None)))
    return sorted({text for text in found if _LETTERS.search(_rest(text))})


def _nodes(node):
    yield node
    for child in getattr(node, "children", {}).values():
        yield from _nodes(child)


def _texts(proto):
    """Texts of one message: those of HTML piece by piece."""
    if proto is None or not hasattr(proto, "ListFields"):
        return
    for field, value in proto.ListFields():
        many = value if field.is_repeated else [value]
        for each in many:
            if field.type == field.TYPE_MESSAGE:
                yield from _texts(each)
            elif field.type == field.TYPE_STRING and field.name in _READ:
                yield from _pieces(each)


def _pieces(text):
    if not text.lstrip().startswith("<"):
        return [text]
    shown = re.sub(r"<style\b.*?</style>", "", text, flags=re.DOTALL)
    named = re.findall(r'\b(?:aria-label|alt|title)="([^"]*)"', shown)
    return re.sub(r"<(?!/?(?:b|i|em)>)[^>]+>", "\n", shown).split("\n") + named


def _rest(text):
    """Return what stands outside of every pair of brackets, without names and units."""
    while (left := _SAID.sub("", text)) != text:
        text = left
    return _SAME_EVERYWHERE.sub("", _DAY.sub("", _MARKS.sub("", text)))
