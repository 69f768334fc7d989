"""Published starts, remembered: a log of coupons asks for the same few stacks over and over."""

from __future__ import annotations

from functools import lru_cache

from advisor.errors import NoAdviceError
from advisor.weld.published import PublishedStart, Schedule, published_start
from advisor.weld.stack import Stack


@lru_cache(maxsize=4096)
def start_or_none(stack: Stack, bare: Schedule) -> PublishedStart | None:
    """Return the published start of a stack, None where nothing is published.

    Parameters
    ----------
    stack : Stack
        The stack, either way up.
    bare : Schedule
        Columns the shop uses for uncoated steel.
    """
    try:
        return published_start(stack, bare)
    except NoAdviceError:
        return None
