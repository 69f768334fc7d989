"""The base of every closed list of trade words: stored as a short code, shown as words."""

from __future__ import annotations

from enum import StrEnum
from typing import Self, cast

from advisor.errors import InputError


class TradeWord(StrEnum):
    """A closed list of words; each member has a code (its value) and a label."""

    label: str

    def __new__(cls, code: str, label: str) -> Self:
        """Make a member from its stored code and the words shown for it."""
        member = str.__new__(cls, code)
        member._value_ = code
        member.label = label
        return member

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return "value"

    @classmethod
    def of(cls, code: str) -> Self:
        """Return the member stored under `code`; `InputError` when there is none."""
        found = cls._value2member_map_.get(code)
        return cls.parse(code) if found is None else cast(Self, found)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a code or a label, whatever its case; `InputError` names the choices."""
        wanted = " ".join(text.replace("_", " ").replace("-", " ").split()).casefold()
        for member in cls:
            names = {member.value.replace("_", " "), member.label.replace("-", " ")}
            if wanted in {name.casefold() for name in names}:
                return member
        choices = ", ".join(member.label for member in cls)
        raise InputError(f"{cls.what()} is {text.strip()!r}; it must be one of: {choices}")
