"""Words that every lesson and comparison says of itself."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.language import listed, msg, say
from advisor.weld.published import Schedule

CALCULATED = msg(
    "Calculated by a heat model whose five contact figures were fitted once to a published table; "
    "nothing here was measured. A setting for the vehicle comes from coupons."
)
#: The columns that lessons and comparisons take for uncoated steel.
BARE = Schedule.MEDIUM_FORCE
_STARTS = msg(
    "Published starts of uncoated steel are here those of {source}: with them the calculated melt "
    "stays farthest below boiling. The view Published starts begins with the columns that the "
    "shop's rules name."
)
_NAMES = {
    "iso14373-2015-b1": msg("ISO 14373:2015 Table B.1"),
    "steels-metallurgy-3rd": "Steels: Metallurgy and Applications, 3rd ed., p. 104",
    "growth-curve-dp12-if08": msg("a measured growth curve (open student data)"),
    "heat model": msg("heat model"),
    "from memory": msg("from memory"),
}


def start_words() -> str:
    """Return which published starts lessons and comparisons begin with, and why."""
    return say(_STARTS, source=BARE.source)


def source_words(sources: Sequence[str]) -> str:
    """Return where the point of a lesson is from.

    Parameters
    ----------
    sources : sequence of str
        Ids of ``reference/SOURCES.md``, "heat model" or "from memory".
    """
    names = listed(say(_NAMES[each]) for each in sources)
    return say("Sources: {names}.", names=names)
