"""Decimal marks of the reader's language on everything that a chart itself writes."""

from __future__ import annotations

import altair as alt

from advisor.language import ENGLISH, decimal_marks, language, percent_mark


# A theme, because a chart takes it when it is written out: on a page and in a file alike.
@alt.theme.register("spoken", enable=True)
def spoken() -> alt.theme.ThemeConfig:
    """Return what every chart is told: how figures on axes and in tooltips are written."""
    code = language()
    if code == ENGLISH:
        return {}
    decimal, thousands = decimal_marks(code)
    number = alt.theme.NumberLocaleKwds(
        decimal=decimal,
        thousands=thousands,
        grouping=[3],
        currency=["", ""],
        percent=percent_mark(code),
    )
    return {"config": {"locale": {"number": number}}}
