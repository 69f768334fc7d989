"""Bringing a file in: what all parts of it share.

Everything here happens inside the one transaction of `Exchange.bring_in`. Names are found whatever
their case; what the log has under a name stays as it is there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Table, insert

from advisor.coupons.coupon import Coupon
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.kinds import KIND_OF
from advisor.exchange.log_file import LogFile, Placed
from advisor.language import say
from advisor.store import rows
from advisor.store.coupon_writing import CouponWriting
from advisor.store.photos import Photos
from advisor.store.schema import SEALED
from advisor.store.seals import Chain


class LogToFill(CouponWriting, Photos):
    """What a file is brought into."""


@dataclass
class Names:
    """How the log spells what the file names.

    Parameters
    ----------
    people, machines, jobs : dict of str to str
        Names of the file, and what each is called here.
    """

    people: dict[str, str] = field(default_factory=dict)
    machines: dict[str, str] = field(default_factory=dict)
    jobs: dict[str, str] = field(default_factory=dict)

    def in_coupon(self, coupon: Coupon) -> Coupon:
        """Return a coupon of the file with the names as they are spelled here."""
        welder, gun = self.people[coupon.welder], self.machines[coupon.machine]
        job = self.jobs.get(coupon.job, coupon.job)
        if (welder, gun, job) == (coupon.welder, coupon.machine, coupon.job):
            return coupon
        return replace(coupon, welder=welder, machine=gun, job=job)


class Arrival:
    """A file on its way into a log.

    Parameters
    ----------
    log : LogToFill
        The log.
    connection : Connection
        Inside a transaction that holds the shop.
    file : LogFile
        The file.
    by : str
        Who brings it in.
    now : datetime
        When.
    """

    def __init__(
        self, log: LogToFill, connection: Connection, file: LogFile, by: str, now: datetime
    ) -> None:
        self.log, self.connection, self.file = log, connection, file
        self.by, self.now = by, now
        self.shop_id = log._shop
        self.new: Counter[str] = Counter()
        self.known: Counter[str] = Counter()
        self.notes: list[str] = []
        self.photos_left_out = 0
        #: Place of the last row of each chain before anything was brought in.
        self.ends = {
            table.name: Chain.end(connection, table, self.shop_id).place for table in SEALED
        }
        self.names = Names()
        # Ids by the names of the file.
        self.person_ids: dict[str, int] = {}
        self.machine_ids: dict[str, int] = {}

    @contextmanager
    def at(self, placed: Placed) -> Iterator[None]:
        """Say where in the file something stands that cannot be brought in."""
        try:
            yield
        except InputError as error:
            raise InputError(f"{placed.where}: {error}") from error

    def count(self, record: r.Record, *, is_new: bool) -> None:
        """Count a record."""
        (self.new if is_new else self.known)[KIND_OF[type(record)].name] += 1

    def note_if_other(self, what: str, here: Any, there: object) -> None:
        """Note that something, as a sentence calls it, is not the same here and in the file."""
        if here != there:
            self.notes.append(
                say("{what} differs here from the file; it stays as it is", what=what)
            )

    def named(self, table: Table, name: str, values: Mapping[str, Any]) -> tuple[Row[Any], bool]:
        """Return the row of a name, and whether it had to be added."""
        found = self.log._find(self.connection, table, name)
        if found is not None:
            return found, False
        row = {
            "shop_id": self.shop_id,
            "name": " ".join(name.split()),
            "name_key": rows.name_key(name),
        }
        self.connection.execute(insert(table).values(**row, **values))
        return self.log._need(self.connection, table, name), True


def records(some: Sequence[Placed], kind: type[Any]) -> Iterator[Any]:
    """Walk the records of a batch, which are all of one kind."""
    return (placed.record for placed in some if isinstance(placed.record, kind))
