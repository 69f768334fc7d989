"""Whether the caps of a machine are due for dressing, and by whose count."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.language import msg, say

#: By whether the count is beyond, and whether the shop's rule gave it.
_WORDS = {
    (True, True): msg("{count} since dressing, over {limit} by the shop's rule"),
    (True, False): msg("{count} since dressing, over {limit} by its own coupons"),
    (False, True): msg("{count} since dressing, of {limit} by the shop's rule"),
    (False, False): msg("{count} since dressing, of {limit} by its own coupons"),
}


@dataclass(frozen=True)
class Due:
    """Welds since dressing against the count at which caps are to be dressed.

    Parameters
    ----------
    welds : int or None
        Welds since dressing as far as the log knows; None when nobody said when that was.
    limit : int or None
        The shop's count, or the one that its coupons give where that is smaller; None for neither.
    is_overdue : bool
        Whether the count is beyond it.
    words : str
        The same in a sentence.
    """

    welds: int | None
    limit: int | None
    is_overdue: bool
    words: str


def due(welds: int | None, is_counted: bool, shop_limit: int | None, learned: int | None) -> Due:
    """Say whether caps are due for dressing.

    Parameters
    ----------
    welds : int or None
        Welds since dressing; None when nobody said when that was.
    is_counted : bool
        Whether somebody counted the welds on vehicles too; otherwise only coupons are in `welds`.
    shop_limit : int or None
        Welds after which the shop's rules want it.
    learned : int or None
        Welds up to which its own coupons show a single weld to be 95 % sure.

    Returns
    -------
    Due
        By the smaller of the two counts.
    """
    limits = [limit for limit in (shop_limit, learned) if limit is not None]
    limit = min(limits, default=None)
    if welds is None:
        words = say("nobody has noted when the caps were fitted or dressed")
        return Due(None, limit, False, words)
    count = _count(welds, is_counted)
    if limit is None:
        words = say("{count} since dressing; no count is set", count=count)
        return Due(welds, None, False, words)
    over = welds > limit
    words = say(_WORDS[over, limit == shop_limit], count=count, limit=limit)
    return Due(welds, limit, over, words)


def _count(welds: int, is_counted: bool) -> str:
    if is_counted:
        return say("{welds} welds", welds=welds)
    return say("{welds} coupons logged (welds on vehicles are not counted)", welds=welds)
