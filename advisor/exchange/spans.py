"""Whole numbers by the million in little room: as long as they follow each other, two each run."""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterator


class Spans:
    """A growing set of whole numbers, kept as runs."""

    def __init__(self) -> None:
        self._starts: list[int] = []
        self._ends: dict[int, int] = {}
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def __contains__(self, number: int) -> bool:
        start = self._start(number)
        return start is not None and number <= self._ends[start]

    def __iter__(self) -> Iterator[tuple[int, int]]:
        """Walk the runs, first and last number of each, in order."""
        return ((start, self._ends[start]) for start in self._starts)

    def add(self, number: int) -> bool:
        """Add a number; whether it was new."""
        start = self._start(number)
        if start is not None and number <= self._ends[start]:
            return False
        self._count += 1
        if start is None or self._ends[start] != number - 1:
            start = number
            insort(self._starts, number)
        self._ends[start] = number
        following = number + 1
        if following in self._ends:
            self._ends[start] = self._ends.pop(following)
            del self._starts[bisect_right(self._starts, following) - 1]
        return True

    def _start(self, number: int) -> int | None:
        """Return where the last run begins that begins at the number or before it."""
        place = bisect_right(self._starts, number)
        return self._starts[place - 1] if place else None
