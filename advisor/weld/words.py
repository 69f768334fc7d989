"""The base of every closed list of trade words: stored as a short code, shown as words."""

from __future__ import annotations

from enum import StrEnum
from typing import Self, cast

from advisor.errors import InputError
from advisor.language import say


class TradeWord(StrEnum):
    """A closed list of words; each member has a code (its value) and a label.

    The label follows the language of whoever reads it; `english` is the same for everybody.
    """

    english: str

    def __new__(cls, code: str, english: str) -> Self:
        """Make a member from its stored code and the English words shown for it."""
        member = str.__new__(cls, code)
        member._value_ = code
        member.english = english
        return member

    @property
    def label(self) -> str:
        """The words shown for it, in the language spoken."""
        return say(self.english)

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("value")

    @classmethod
    def of(cls, code: str) -> Self:
        """Return the member stored under `code`; `InputError` when there is none."""
        found = cls._value2member_map_.get(code)
        return cls.parse(code) if found is None else cast(Self, found)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a code or a label, English or in the language spoken, whatever its case.

        `InputError` names the choices.
        """
        if found := cls._value2member_map_.get(text):
            return cast(Self, found)
        wanted = _plain(text)
        for name in ("value", "english", "label"):
            for member in cls:
                if _plain(getattr(member, name)) == wanted:
                    return member
        raise InputError(
            say(
                "{what} is {typed!r}; it must be one of: {choices}",
                what=cls.what(),
                typed=text.strip(),
                choices=", ".join(member.label for member in cls),
            )
        )


def _plain(text: str) -> str:
    return " ".join(text.replace("_", " ").replace("-", " ").split()).casefold()
