"""Which number a coupon of a file has in the log it is brought into.

A coupon that is there already keeps its number there. A new one keeps the number of the file where
that is free; where it is not, it gets one behind all others. In the end the numbers of the log have
no gap, as everybody expects who counts coupons.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from advisor.exchange.spans import Spans
from advisor.language import say

_Span = tuple[int, int]


@dataclass(frozen=True)
class Renumbered:
    """Coupons that follow each other in the file and here, under other numbers.

    Parameters
    ----------
    first, last : int
        Numbers in the file.
    here : int
        Number that the first of them has here.
    """

    first: int
    last: int
    here: int

    def __str__(self) -> str:
        """Return it in words."""
        if self.first == self.last:
            return say(
                "coupon #{number} of the file is #{here} here", number=self.first, here=self.here
            )
        return say(
            "coupons #{first} to #{last} of the file are #{here} to #{last_here} here",
            first=self.first,
            last=self.last,
            here=self.here,
            last_here=self.here + self.last - self.first,
        )


class Numbering:
    """Numbers of a file and of the log, kept as runs.

    Parameters
    ----------
    in_file : int
        Coupons of the file; they are numbered from 1 without a gap.
    here : int
        Coupons of the log before anything is brought in, numbered likewise.
    """

    def __init__(self, in_file: int, here: int) -> None:
        self._in_file, self._here = in_file, here
        self._known = Spans()
        self._taken = Spans()
        self._starts: list[int] = []
        self._runs: dict[int, Renumbered] = {}

    def recognise(self, number: int, here: int) -> bool:
        """Note that a coupon of the file is one of the log; False when that one is another's."""
        if not self._taken.add(here):
            return False
        self._known.add(number)
        self._put(Renumbered(number, number, here))
        return True

    def give_numbers(self) -> None:
        """Give all coupons that were not recognised their numbers."""
        new = list(_gaps(self._known, 1, self._in_file))
        last = self._here + sum(high - low + 1 for low, high in new)
        kept = list(_within(new, self._here + 1, last))
        for low, high in kept:
            self._put(Renumbered(low, high, low))
        moved = [*_within(new, 1, self._here), *_within(new, last + 1, self._in_file)]
        free = list(_gaps(kept, self._here + 1, last))
        for (low, high), here in _side_by_side(moved, free):
            self._put(Renumbered(low, high, here))

    def is_known(self, number: int) -> bool:
        """Whether a coupon of the file was in the log before."""
        return number in self._known

    def here(self, number: int) -> int:
        """Return the number that a coupon of the file has in the log."""
        run = self._runs[self._starts[bisect_right(self._starts, number) - 1]]
        return run.here + number - run.first

    def changed(self) -> Iterator[Renumbered]:
        """Walk the coupons that have another number here."""
        runs = (self._runs[start] for start in self._starts)
        return (run for run in runs if run.first != run.here)

    def _put(self, run: Renumbered) -> None:
        place = bisect_right(self._starts, run.first)
        before = self._runs[self._starts[place - 1]] if place else None
        offset = run.here - run.first
        if before and before.last == run.first - 1 and before.here - before.first == offset:
            self._runs[before.first] = Renumbered(before.first, run.last, before.here)
        else:
            insort(self._starts, run.first)
            self._runs[run.first] = run


def _gaps(spans: Iterable[_Span], low: int, high: int) -> Iterator[_Span]:
    """Walk what lies between spans that are in order, from `low` to `high`."""
    for first, last in spans:
        if low < first:
            yield low, first - 1
        low = last + 1
    if low <= high:
        yield low, high


def _within(spans: Iterable[_Span], low: int, high: int) -> Iterator[_Span]:
    """Walk the parts of spans that lie from `low` to `high`."""
    for first, last in spans:
        if max(first, low) <= min(last, high):
            yield max(first, low), min(last, high)


def _side_by_side(moved: Iterable[_Span], free: Iterable[_Span]) -> Iterator[tuple[_Span, int]]:
    """Lay spans of numbers beside as many free ones, cut where either ends."""
    places = iter(free)
    here, end = 0, -1
    for first, last in moved:
        while first <= last:
            if here > end:
                here, end = next(places)
            length = min(last - first, end - here)
            yield (first, first + length), here
            first, here = first + length + 1, here + length + 1
