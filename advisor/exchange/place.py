"""Where something stands in a file."""

from __future__ import annotations

from typing import NamedTuple

from advisor.language import say


class Place(NamedTuple):
    """A line of a file; it becomes words only where something is wrong with it.

    Parameters
    ----------
    line : int
        Its number, from 1.
    table : str
        Name of the CSV file in a zip; empty for JSON Lines.
    """

    line: int
    table: str = ""

    def __str__(self) -> str:
        """Return it in words, for the beginning of a sentence."""
        if self.table:
            return say("{file}, line {line}", file=self.table, line=self.line)
        return say("line {line}", line=self.line)
