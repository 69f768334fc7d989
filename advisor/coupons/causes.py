"""Why a coupon failed, in few words that can be counted."""

from __future__ import annotations

from advisor.language import msg, say
from advisor.weld.words import TradeWord


class Cause(TradeWord):
    """One thing that fails a coupon; a coupon may have several."""

    NO_FUSION = "no_fusion", msg("no fusion")
    SHEARED = "sheared", msg("sheared at the interface")
    TOO_SMALL = "too_small", msg("weld too small")
    UNEVEN = "uneven", msg("button too uneven")
    EXPULSION = "expulsion", msg("expulsion")
    EDGE_WELD = "edge_weld", msg("edge weld")
    CRACK = "crack", msg("visible crack")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("cause of a failure")
