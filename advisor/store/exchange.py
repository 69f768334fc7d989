"""The whole log out into a file, and a file into the log, without ever holding all of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import BinaryIO

from sqlalchemy import Connection, Engine, Row, Table, func, select

from advisor import __version__
from advisor.errors import InputError, RoleError
from advisor.exchange.arrived import Arrived
from advisor.exchange.header import Header
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.kinds import KINDS, REVISIONS
from advisor.exchange.log_file import LogFile
from advisor.exchange.records import CouponRevision, Record
from advisor.exchange.tables import write_tables
from advisor.language import say
from advisor.people.roles import Act
from advisor.store.arriving.arrival import LogToFill
from advisor.store.arriving.file import FileArrival
from advisor.store.arriving.shelves import AT_ONCE, SHELVES, revision_from
from advisor.store.engine import explained
from advisor.store.schema import coupon, coupon_revision, shop
from advisor.store.schema import rules as rules_table

_R = coupon_revision


class _OnlyTried(Exception):  # noqa: N818  (no error: it takes the transaction back)
    """Bringing in was tried and is not to be kept."""


class Exchange(LogToFill):
    """Export and import of a whole log."""

    def export_json_lines(self, file: BinaryIO) -> Header:
        """Write the whole log as JSON Lines into an open binary file; what it says of itself."""
        with self._snapshot() as connection:
            header = self._file_header(connection)
            write_json_lines(file, header, self._all_records(connection))
        return header

    def export_tables(self, file: BinaryIO) -> Header:
        """Write the whole log as a zip of CSV files; what it says of itself."""
        with self._snapshot() as connection:
            header = self._file_header(connection)
            write_tables(file, header, self._all_records(connection))
        return header

    def bring_in(self, file: LogFile, by: str, now: datetime | None = None) -> Arrived:
        """Bring the whole log of a file into this one, or nothing of it.

        The same file twice adds nothing; a later one of the same shop adds what is new in it. What
        the log has under a name stays as it is. Verdicts, and who wrote what when, are taken over
        as they were recorded.

        Parameters
        ----------
        file : LogFile
            The file.
        by : str
            A lead.
        now : datetime, optional
            Moment of writing; the clock's when left out.

        Raises
        ------
        InputError
            The first thing in the file that cannot be brought in, with its place; nothing is kept.
        RoleError
            `by` is no lead.
        """
        with self._writing(by, Act.WHOLE_SHOP) as connection:
            return self._arrival(connection, file, by, now).bring_in()

    def try_bringing_in(self, file: LogFile, by: str, now: datetime | None = None) -> Arrived:
        """Return what `bring_in` would do now, and keep nothing of it."""
        arrived: list[Arrived] = []
        try:
            with self._writing(by, Act.WHOLE_SHOP) as connection:
                arrived.append(self._arrival(connection, file, by, now).bring_in())
                raise _OnlyTried
        except _OnlyTried:
            return arrived[0]

    def may_bring_in(self, who: str) -> bool:
        """Whether somebody may bring a whole file in: a lead, or anybody in an empty shop."""
        try:
            self._check_named(who)
            with self._reading() as connection:
                self._may(connection, who, Act.WHOLE_SHOP)
        except (InputError, RoleError):
            return False
        return True

    def _arrival(
        self, connection: Connection, file: LogFile, by: str, now: datetime | None
    ) -> FileArrival:
        here = self._shop_row(connection)
        if not (here.is_demo or here.is_copy):
            _check_is_real(file.header)
        return FileArrival(self, connection, file, by, now or datetime.now(UTC))

    def _shop_row(self, connection: Connection) -> Row[*tuple[object, ...]]:
        return connection.execute(select(shop).where(shop.c.id == self._shop)).one()

    @contextmanager
    def _snapshot(self) -> Iterator[Connection]:
        """Open a transaction that sees one moment, however long it is read."""
        with self._reading():
            pass  # whoever may not read is refused here
        engine: Engine = self._engine
        if engine.dialect.name == "postgresql":
            engine = engine.execution_options(isolation_level="REPEATABLE READ")
        with explained(engine.url), engine.begin() as connection:
            yield connection

    def _file_header(self, connection: Connection) -> Header:
        def count(table: Table) -> int:
            mine = select(func.count()).select_from(table).where(table.c.shop_id == self._shop)
            return int(connection.execute(mine).scalar_one())

        here = self._shop_row(connection)
        tables = {name: shelf.table for name, shelf in SHELVES.items()} | {REVISIONS.name: _R}
        return Header(
            here.name,
            here.is_demo,
            here.is_copy,
            datetime.now(UTC),
            __version__,
            count(coupon),
            {kind.name: count(tables[kind.name]) for kind in KINDS},
        )

    def _all_records(self, connection: Connection) -> Iterator[Record]:
        for kind in KINDS:
            if kind is REVISIONS:
                yield from self._revision_records(connection)
            else:
                yield from SHELVES[kind.name].walk(connection, self._shop)

    def _revision_records(self, connection: Connection) -> Iterator[CouponRevision]:
        query = (
            self._all_revisions()
            .join(rules_table, rules_table.c.id == _R.c.rules_id)
            .add_columns(rules_table.c.place.label("rules_number"))
            .order_by(_R.c.place)
            .limit(AT_ONCE)
        )
        last = 0
        while True:
            found = connection.execute(query.where(_R.c.place > last)).mappings().all()
            logged = self._with_results(connection, found)
            yield from map(revision_from, found, logged)
            if len(found) < AT_ONCE:
                return
            last = found[-1]["place"]


def _check_is_real(header: Header) -> None:
    """Refuse coupons that nobody welded."""
    if header.invented_demo:
        raise InputError(
            say(
                "the file is the log of the invented demo shop; its coupons must not stand among "
                "those of a shop that welds by them: bring it into the demo or into a practice copy"
            )
        )
    if header.practice_copy:
        raise InputError(
            say(
                "the file is the log of a copy for practice; its coupons must not stand among "
                "those of a shop that welds by them: bring it into the demo or into a practice copy"
            )
        )
