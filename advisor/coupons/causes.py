"""Why a coupon failed, in few words that can be counted."""

from __future__ import annotations

from advisor.weld.words import TradeWord


class Cause(TradeWord):
    """One thing that fails a coupon; a coupon may have several."""

    NO_FUSION = "no_fusion", "no fusion"
    SHEARED = "sheared", "sheared at the interface"
    TOO_SMALL = "too_small", "weld too small"
    UNEVEN = "uneven", "button too uneven"
    EXPULSION = "expulsion", "expulsion"
    EDGE_WELD = "edge_weld", "edge weld"
    CRACK = "crack", "visible crack"

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return "cause of a failure"
