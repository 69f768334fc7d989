"""The shop's log: the one door through which pages reach the database."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal

import pandas as pd
from sqlalchemy import Integer, cast, func, insert, select, update

from advisor.coupons.verdict import Outcome
from advisor.store.coupon_records import CouponRecords, is_newest
from advisor.store.engine import connect, default_url, demo_url
from advisor.store.schema import coupon, coupon_revision, machine, shop, stack, welder

__all__ = ["Log", "default_url", "demo_url", "open_log"]

Group = Literal["welder", "machine", "adhesive_state", "stack"]
_GROUPS = {
    "welder": welder.c.name,
    "machine": machine.c.name,
    "adhesive_state": stack.c.adhesive_state,
    "stack": stack.c.title,
}
_R = coupon_revision


class Log(CouponRecords):
    """One shop's log. Names are found whatever their case; `by` is who acts."""

    @property
    def is_demo(self) -> bool:
        """Whether this is the invented demo shop."""
        with self._reading() as connection:
            query = select(shop.c.is_demo).where(shop.c.id == self._shop)
            return bool(connection.execute(query).scalar_one())

    def mark_demo(self, by: str) -> None:
        """Mark the shop as invented, for good."""
        with self._writing(by) as connection:
            connection.execute(update(shop).where(shop.c.id == self._shop).values(is_demo=True))

    def is_empty(self) -> bool:
        """Whether no machine and no coupon is entered yet."""
        with self._reading() as connection:
            return not any(
                connection.execute(
                    select(table.c.id).where(table.c.shop_id == self._shop).limit(1)
                ).first()
                for table in (machine, coupon)
            )

    def pass_counts(
        self,
        group: Group,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> pd.DataFrame:
        """Count verdicts in the database, voided coupons left out.

        Parameters
        ----------
        group : {'welder', 'machine', 'adhesive_state', 'stack'}
            What the counts are for.
        since, until : datetime, optional
            Coupons welded from, and before.

        Returns
        -------
        DataFrame of shape (n_groups, 4)
            ``name``, ``passed``, ``failed``, ``open``.
        """
        name = _GROUPS[group]

        def count(outcome: Outcome, label: str):  # type: ignore[no-untyped-def]
            return func.sum(cast(_R.c.outcome == outcome.value, Integer)).label(label)

        query = (
            select(
                name.label("name"),
                count(Outcome.PASS, "passed"),
                count(Outcome.FAIL, "failed"),
                count(Outcome.OPEN, "open"),
            )
            .select_from(_R)
            .join(welder, welder.c.id == _R.c.welder_id)
            .join(machine, machine.c.id == _R.c.machine_id)
            .join(stack, stack.c.id == _R.c.stack_id)
            .where(_R.c.shop_id == self._shop, _R.c.voided == "", is_newest())
            .group_by(name)
            .order_by(name)
        )
        if since is not None:
            query = query.where(_R.c.made_at >= since)
        if until is not None:
            query = query.where(_R.c.made_at < until)
        with self._reading() as connection:
            found = connection.execute(query).all()
        return pd.DataFrame(found, columns=["name", "passed", "failed", "open"])

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


def open_log(url: str | None = None, shop_name: str = "Shop") -> Log:
    """Open a log, making or updating its tables; a new shop is entered on the way.

    Parameters
    ----------
    url : str, optional
        SQLAlchemy address; `default_url` when left out.
    shop_name : str
        Name of the shop in the database.

    Returns
    -------
    Log
        The log of that shop.

    Raises
    ------
    StoreError
        The database cannot be opened or was written by a newer version.
    """
    engine = connect(url or default_url())
    with engine.execution_options(writes=True).begin() as connection:
        found = connection.execute(select(shop.c.id).where(shop.c.name == shop_name)).scalar()
        if found is None:
            new = insert(shop).values(name=shop_name, is_demo=False, created_at=datetime.now(UTC))
            found = connection.execute(new.returning(shop.c.id)).scalar_one()
    return Log(engine, found)
