"""What came of bringing a file in: how many records were new, and what a person has to know."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.exchange.kinds import KIND_NAMED
from advisor.exchange.numbering import Renumbered
from advisor.language import say

#: Runs of changed numbers that are told one by one.
_MOST_TOLD = 20


@dataclass(frozen=True)
class Counted:
    """Records of one kind.

    Parameters
    ----------
    kind : str
        Name of the kind.
    new, known : int
        How many were added, and how many the log had already.
    """

    kind: str
    new: int
    known: int

    def __str__(self) -> str:
        """Return the counts in words."""
        return say(
            "{kind}: {new:,} new, {known:,} known",
            kind=KIND_NAMED[self.kind].words,
            new=self.new,
            known=self.known,
        )


@dataclass(frozen=True)
class Arrived:
    """What came of bringing a file in.

    Parameters
    ----------
    shop : str
        Name of the shop the file is of.
    counts : tuple of Counted
        Every kind, in the order of the file.
    renumbered : tuple of Renumbered
        Coupons that have another number here than in the file, known ones included.
    notes : tuple of str
        What else differs from the file, a sentence each.
    """

    shop: str
    counts: tuple[Counted, ...]
    renumbered: tuple[Renumbered, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def new(self) -> int:
        """How many records were added."""
        return sum(each.new for each in self.counts)

    @property
    def known(self) -> int:
        """How many records the log had already."""
        return sum(each.known for each in self.counts)

    def lines(self) -> Iterator[str]:
        """Walk all of it in lines to print."""
        yield from (str(each) for each in self.counts if each.new or each.known)
        yield from self.remarks()

    def remarks(self) -> Iterator[str]:
        """Walk what is to be read besides the counts."""
        yield from self.notes
        yield from map(str, self.renumbered[:_MOST_TOLD])
        more = len(self.renumbered) - _MOST_TOLD
        if more > 0:
            yield say(
                "and {more:,} more runs of coupons with other numbers here than in the file",
                more=more,
            )
