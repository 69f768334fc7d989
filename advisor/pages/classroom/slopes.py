"""What is believed before any coupon, and what the heat model says, beside each other."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from advisor.language import msg, say
from advisor.learning.heat_beside import Beside, beside_the_prior
from advisor.pages.parts.chart_files import table_html

_NAMES = {
    "current": msg("more current"),
    "time": msg("more time"),
    "force": msg("more force"),
    "face": msg("a larger electrode face"),
    "thickness": msg("thicker sheets, at their own published start (size over √t)"),
}


def slopes() -> None:
    """Draw the two sources side by side, folded."""
    with st.expander(say("What the advisor believes before any coupon, and what physics says")):
        st.write(
            say(
                "By how many per cent the weld grows when one thing grows by one per cent. The "
                "beliefs are the advisor's, before any coupon; the heat model knows nothing of "
                "them, nor they of it. Coupons decide on each machine."
            )
        )
        rows = [_row(each) for each in beside_the_prior()]
        heads = [say("With"), say("Believed"), say("Heat model"), say("Apart")]
        beside = pd.DataFrame(rows, columns=heads)
        st.html(table_html(beside, say("Growth of the weld, believed and calculated")))
        st.caption(
            say(
                "Believed: mean and standard deviation. Heat model: median, smallest and largest "
                "over the middles of ISO 14373:2015 Table B.1, medium and high force. Apart: in "
                "standard deviations of the belief."
            )
        )


def _row(each: Beside) -> list[str]:
    belief = each.belief
    return [
        say(_NAMES[belief.name]),
        say("{mean:.2f} ± {sd:.2f}", mean=belief.mean, sd=belief.sd),
        say(
            "{middle:.2f} ({low:.2f} to {high:.2f})",
            middle=each.middle,
            low=each.lowest,
            high=each.highest,
        ),
        say("{apart:+.1f}", apart=each.apart),
    ]
