"""A machine's coupons as a table for the charts: value, and what may explain it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import JudgingRules
from advisor.coupons.verdict import Outcome
from advisor.language import ENGLISH, speaking
from advisor.review.like_for_like import explaining, place_of
from advisor.weld.failure import FailureType

Floats = NDArray[np.float64]


def frame_of(coupons: Sequence[LoggedCoupon], rules: JudgingRules) -> pd.DataFrame:
    """Return the judged coupons that count as a table, oldest first.

    Left out: voided ones, those not yet judged, and stacks to which the shop's rule gives no
    governing thickness.

    Parameters
    ----------
    coupons : sequence of LoggedCoupon
        Coupons of one machine.
    rules : JudgingRules
        The shop's rules.

    Returns
    -------
    DataFrame of shape (n_coupons, 20)
        ``number``, ``made_at`` (UTC), ``day`` (as written down), ``welder``, ``electrode``,
        ``value`` [mm per root mm] at the weakest interface or NaN, ``minimum`` k,
        ``welds_since_dressing`` or NaN, ``outcome``, ``no_button``, ``expulsion``, and what
        `like_for_like.fit` needs, ``stack`` among it.
    """
    counted = [c for c in coupons if not c.voided and c.verdict.outcome is not Outcome.OPEN]
    counted.sort(key=lambda c: (c.coupon.made_at, c.number))
    # Stack and electrode are names here that sort coupons, the same whoever reads.
    with speaking(ENGLISH):
        rows = [row for logged in counted if (row := _row(logged, rules)) is not None]
    columns = list(rows[0]) if rows else ["number", "made_at", "value"]
    frame = pd.DataFrame({name: [row[name] for row in rows] for name in columns})
    frame["made_at"] = pd.to_datetime(frame["made_at"], utc=True)
    return frame


def _row(logged: LoggedCoupon, rules: JudgingRules) -> dict[str, object] | None:
    coupon = logged.coupon
    place = place_of(coupon.stack, rules.size.governing)
    if place is None:
        return None
    welds = coupon.welds_since_dressing
    return {
        "number": logged.number,
        "made_at": coupon.made_at,
        "day": f"{coupon.made_at:%Y-%m-%d}",
        "welder": coupon.welder,
        "electrode": coupon.electrode.title(),
        "value": _value(coupon, place.roots),
        "minimum": rules.size.k,
        "welds_since_dressing": np.nan if welds is None else float(welds),
        "outcome": str(logged.verdict.outcome),
        "no_button": any(
            r.size_mm is None and r.failure in (FailureType.NO_FUSION, FailureType.INTERFACE)
            for r in coupon.results
        ),
        "expulsion": coupon.expulsion,
    } | explaining(coupon, place)


def _value(coupon: Coupon, roots: Floats) -> float:
    sizes = [result.size_mm for result in coupon.results]
    pairs = zip(sizes, roots, strict=True)
    return min(np.nan if size is None else size / float(root) for size, root in pairs)
