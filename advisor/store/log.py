"""The shop's log: the one door through which pages reach the database."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Connection, func, insert, select, text, update

from advisor.people.roles import Act
from advisor.store.auditing import Auditing
from advisor.store.base import is_newest
from advisor.store.bonded_jobs import BondedJobs
from advisor.store.clocks import Clocks
from advisor.store.coupon_reading import named
from advisor.store.drafts import Drafts
from advisor.store.engine import (
    bind_shop,
    connect,
    default_shop,
    default_url,
    demo_url,
    explained,
    opening,
)
from advisor.store.exchange import Exchange
from advisor.store.people import People
from advisor.store.releases import Releases
from advisor.store.reviewing import Reviewing
from advisor.store.schema import coupon, coupon_revision, machine, shop
from advisor.store.tally import between
from advisor.store.verifying import Verifying

__all__ = ["Log", "default_url", "demo_url", "open_log"]

_R = coupon_revision


class Log(Auditing, Reviewing, Releases, BondedJobs, Clocks, Verifying, People, Drafts, Exchange):
    """One shop's log. Names are found whatever their case; `by` is who acts."""

    @property
    def is_demo(self) -> bool:
        """Whether this is the invented demo shop."""
        with self._reading() as connection:
            query = select(shop.c.is_demo).where(shop.c.id == self._shop)
            return bool(connection.execute(query).scalar_one())

    @property
    def is_copy(self) -> bool:
        """Whether this is a practice copy of a shop."""
        with self._reading() as connection:
            query = select(shop.c.is_copy).where(shop.c.id == self._shop)
            return bool(connection.execute(query).scalar_one())

    def mark_copy(self, by: str) -> None:
        """Mark the log as a practice copy, for good: everybody may do everything in it."""
        with self._writing(by, Act.RULES) as connection:
            connection.execute(update(shop).where(shop.c.id == self._shop).values(is_copy=True))

    def mark_demo(self, by: str) -> None:
        """Mark the shop as invented, for good."""
        with self._writing(by, Act.RULES) as connection:
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

    def counts(self) -> dict[str, int]:
        """Return how many ``coupons`` count, and how many of them are ``open``."""
        c = between(self._shop, None, None).c
        counted = func.coalesce(func.sum(c.passed + c.failed + c.open), 0)
        query = select(counted, func.coalesce(func.sum(c.open), 0))
        with self._reading() as connection:
            coupons, still_open = connection.execute(query).one()
        return {"coupons": int(coupons), "open": int(still_open)}

    def newest_revisions(self, machine_name: str, limit: int) -> tuple[int, ...]:
        """Return which revisions `recent_coupons` would read of one machine.

        The same numbers as long as no coupon among them was added, corrected, voided or moved from
        or to the machine: what was worked out from these coupons still holds then.
        """
        query = (
            select(_R.c.id)
            .join(machine, machine.c.id == _R.c.machine_id)
            .where(_R.c.shop_id == self._shop, is_newest(), *named(machine_name, None))
            .order_by(_R.c.made_at.desc(), _R.c.id.desc())
            .limit(limit)
        )
        with self._reading() as connection:
            return tuple(connection.execute(query).scalars())

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


def open_log(url: str | None = None, shop_name: str | None = None) -> Log:
    """Open a log, making or updating its tables; a new shop is entered on the way.

    Parameters
    ----------
    url : str, optional
        SQLAlchemy address; `default_url` when left out.
    shop_name : str, optional
        Name of the shop in the database; `default_shop` when left out.

    Returns
    -------
    Log
        The log of that shop.

    Raises
    ------
    StoreError
        The database cannot be opened or was written by a newer version.
    """
    url = url or default_url()
    engine = connect(url)
    with explained(url), opening(engine) as connection:
        shop_id = _shop_id(connection, shop_name or default_shop())
    bind_shop(engine, shop_id)
    return Log(engine, shop_id)


def _shop_id(connection: Connection, name: str) -> int:
    if connection.dialect.name == "postgresql":
        # The policy of the table of shops shows the one that is asked for by name.
        setting = text("SELECT set_config('advisor.shop_name', :name, true)")
        connection.execute(setting, {"name": name})
    found = connection.execute(select(shop.c.id).where(shop.c.name == name)).scalar()
    if found is None:
        new = insert(shop).values(name=name, is_demo=False, created_at=datetime.now(UTC))
        found = connection.execute(new.returning(shop.c.id)).scalar_one()
    return int(found)
