"""What the advisor foretold of coupons, added up beside what happened."""

from __future__ import annotations

from typing import Any, Literal

import pandas as pd
from sqlalchemy import ColumnElement, Select, and_, case, func, select

from advisor.review.foretold import ForetoldSums
from advisor.store import rows
from advisor.store.base import is_newest
from advisor.store.coupon_records import CouponRecords
from advisor.store.schema import coupon_revision, foretold, machine

Event = Literal["sound", "expulsion"]
#: Newest foretold coupons that the advisor is judged by. Choice of this project: what the advisor
#: says today, not years ago.
FORETOLD = 1000
#: Narrow bins of a chance, which the reliability table merges.
_BINS = 50
#: A chance that is as good as none.
_TINY = 1e-12
_R = coupon_revision


class Predictions(CouponRecords):
    """What was foretold, and what happened."""

    def foretold_sums(self, event: Event, machine_name: str | None = None) -> ForetoldSums:
        """Add up what was foretold of the newest coupons, and what happened.

        Of the `FORETOLD` newest coupons of the shop that anything was foretold of, those that are
        judged, count and have the setting that was asked about.

        Parameters
        ----------
        event : {'sound', 'expulsion'}
            A sound weld, or metal thrown out.
        machine_name : str, optional
            Of one machine.
        """
        told = _told(self._shop, event, machine_name).subquery()
        p, y = told.c.p, told.c.y
        sums = (p, y, (p - y) * (p - y), p * (1 - p), (1 - 2 * p) * (1 - 2 * p) * p * (1 - p))
        query = select(func.count(), *(func.coalesce(func.sum(each), 0.0) for each in sums))
        with self._reading() as connection:
            count, *found = connection.execute(query.select_from(told)).one()
        return ForetoldSums(int(count), *map(float, found))

    def foretold_bins(self, event: Event, machine_name: str | None = None) -> pd.DataFrame:
        """Add up the same by how large the chance was.

        Returns
        -------
        DataFrame of shape (n_bins, 5)
            As `advisor.review.foretold.reliability_from_bins` takes it.
        """
        told = _told(self._shop, event, machine_name).subquery()
        place = func.round(told.c.p * _BINS).label("place")
        query = (
            select(place, func.count(), func.sum(told.c.p), func.sum(told.c.y))
            .group_by(place)
            .order_by(place)
        )
        with self._reading() as connection:
            found = [
                (
                    max(0.0, (n - 0.5) / _BINS),
                    min(1.0, (n + 0.5) / _BINS),
                    count,
                    float(p),
                    float(y),
                )
                for n, count, p, y in connection.execute(query)
            ]
        names = ["low", "high", "count", "sum_foretold", "sum_happened"]
        return pd.DataFrame(found, columns=names)


def _told(shop_id: int, event: Event, machine_name: str | None) -> Select[Any]:
    """Return chance and outcome of the newest coupons that something was foretold of."""
    newest = (
        select(foretold)
        .where(foretold.c.shop_id == shop_id)
        .order_by(foretold.c.place.desc())
        .limit(FORETOLD)
        .subquery("newest")
    )
    first, now = _R.alias("first"), _R
    chance: ColumnElement[float] = newest.c[f"chance_{event}"]
    # Below that a square is too small for a server, which then refuses the whole sum.
    chance = case((chance < _TINY, 0.0), else_=chance)
    happened = now.c.outcome == "pass" if event == "sound" else now.c.expulsion.is_(True)
    same = [
        first.c[name] == now.c[name]
        for name in ("machine_id", "stack_id", "current_kA", "weld_ms", "force_kN")
    ]
    query = (
        select(chance.label("p"), case((happened, 1.0), else_=0.0).label("y"))
        .select_from(newest)
        .join(first, and_(first.c.coupon_id == newest.c.coupon_id, first.c.revision == 1))
        .join(now, and_(now.c.coupon_id == newest.c.coupon_id, *same))
        .where(is_newest(), now.c.voided == "", now.c.outcome != "open")
    )
    if machine_name is not None:
        gun = select(machine.c.id).where(
            machine.c.shop_id == shop_id, machine.c.name_key == rows.name_key(machine_name)
        )
        query = query.where(now.c.machine_id == gun.scalar_subquery())
    return query
