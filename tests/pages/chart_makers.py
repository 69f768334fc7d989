"""Invented frames for the charts of the review, and every chart drawn once."""

import numpy as np
import pandas as pd

from advisor.pages.parts import drift_charts, review_charts
from advisor.review.foretold import reliability
from advisor.review.pareto import pareto

NAMES = ["Sam", "Kim with a name that is far longer than a phone is wide", "<b>Lee</b>", "Nobody"]


def rate_table():
    return pd.DataFrame(
        {
            "name": NAMES,
            "pooled": [0.71, 0.86, 0.9, np.nan],
            "pooled_low": [0.56, 0.72, 0.74, np.nan],
            "pooled_high": [0.84, 0.94, 0.98, np.nan],
            "raw": [0.66, 0.88, 1.0, np.nan],
            "raw_low": [0.5, 0.72, 0.51, np.nan],
            "raw_high": [0.79, 0.95, 1.0, np.nan],
            "count": ["24 of 36", "29 of 33", "4 of 4", "0 of 0"],
            "standing": ["below target", "too few to say", "too few to say", "too few to say"],
            "reading": ["pooled 71 % of 36", "pooled 86 % of 33", "pooled 90 % of 4", "nothing"],
        }
    )


def points(count=40):
    random = np.random.default_rng(3)
    adjusted = 4.9 + 0.2 * random.standard_normal(count)
    adjusted[30] = np.nan
    adjusted[35:] -= 0.7
    frame = pd.DataFrame(
        {
            "number": range(101, 101 + count),
            "made_at": pd.date_range("2026-03-02 08:00", periods=count, freq="19h", tz="UTC"),
            "value": adjusted + 0.1,
            "adjusted": adjusted,
            "lower": 4.3,
            "upper": 5.5,
            "phase": ["stable"] * 25 + ["later"] * (count - 25),
            "signal": [""] * 36 + ["a coupon beyond the limits"] * (count - 36),
            "known": [True] * 28 + [False] * 2 + [True] * (count - 30),
        }
    )
    average = frame["adjusted"].ffill().ewm(alpha=0.2, adjust=False).mean()
    return frame.assign(
        ewma=average, ewma_lower=4.7, ewma_upper=5.1, range=frame["adjusted"].diff().abs()
    )


def every_chart():
    """Return each chart by name, with a text that must stand in it."""
    events = pd.DataFrame({"order": [12.5, 25.5], "what": ["dressed", "caps fitted"]})
    size = drift_charts.SIZE_TITLE
    random = np.random.default_rng(5)
    p = random.uniform(0.5, 1, 200)
    welds = np.arange(10, 130, 10)
    worn = pd.DataFrame({"number": range(12), "welds": welds, "value": 5 - 0.006 * welds})
    line = pd.DataFrame({"welds": [10, 120], "fitted": [4.9, 4.3], "low": [4.6, 4], "high": 5.1})
    causes = {"too small": 24, "interface failure": 8, "no button": 4}
    weeks = rate_table()[:3].assign(period=["2 Mar", "9 Mar", "16 Mar"])
    empty = pd.DataFrame({"period": ["23 Mar"], "count": ["0 of 0"], "raw": [np.nan]})
    return {
        "rates": (review_charts.rates(rate_table(), 0.9), "24 of 36"),
        "raw only": (
            review_charts.rates(rate_table().assign(pooled=np.nan), 0.9, "machine"),
            "24 of 36",
        ),
        "individuals": (
            drift_charts.individuals(points(), 4.9, 4.0, events),
            size,
        ),
        "ewma": (drift_charts.ewma(points(), 4.9, 4.0, events), drift_charts.AVERAGE_TITLE),
        "ranges": (drift_charts.ranges(points(), 0.2, 0.7), drift_charts.RANGE_TITLE),
        "wear": (drift_charts.wear(worn, line, 4.0, 90), "welds since dressing [count]"),
        "pareto": (review_charts.pareto(pareto(causes, 30), 30), "24 of 30"),
        "reliability": (
            review_charts.reliability(reliability(p, random.random(200) < p)),
            ", n 20",
        ),
        "by period": (review_charts.by_period(pd.concat([weeks, empty]), 0.9), "4 of 4"),
    }
