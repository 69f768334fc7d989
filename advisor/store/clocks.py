"""Adhesive clocks: started at mixing, fed with temperatures, running across restarts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import ColumnElement, Connection, insert, select, update

from advisor.bonding.adhesive import Adhesive
from advisor.bonding.clock import ClockState, Reading, read_clock
from advisor.errors import InputError, RecordError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.base import Base
from advisor.store.schema import adhesive, adhesive_clock, clock_reading


@dataclass(frozen=True)
class RunningClock:
    """One clock, as a rule one that runs.

    Parameters
    ----------
    id : int
        Its number in the log.
    adhesive : Adhesive
        The adhesive with its label times.
    used_for : str
        Panel or coupons it was mixed for.
    mixed_at : datetime
        Time of mixing.
    readings : tuple of Reading
        Panel temperatures so far, at least one.
    stopped_at : datetime or None
        When it was stopped; None while it runs.
    """

    id: int
    adhesive: Adhesive
    used_for: str
    mixed_at: datetime
    readings: tuple[Reading, ...]
    stopped_at: datetime | None = None

    def state(self, now: datetime) -> ClockState:
        """Return what the clock says at a moment."""
        return read_clock(self.adhesive, self.mixed_at, self.readings, now)


class Clocks(Base):
    """The adhesive clocks of a shop."""

    def start_clock(
        self, adhesive_name: str, used_for: str, mixed_at: datetime, degC: float, by: str
    ) -> int:
        """Start a clock at the time of mixing with the panel's temperature [degC]; its number."""
        first = Reading(mixed_at, degC)
        now = datetime.now(UTC)
        with self._writing(by, Act.BENCH) as connection:
            found = self._need(connection, adhesive, adhesive_name)
            read_clock(rows.adhesive_from(found._mapping), mixed_at, [first], now)
            clock = connection.execute(
                insert(adhesive_clock)
                .values(
                    shop_id=self._shop,
                    adhesive_id=found.id,
                    used_for=used_for.strip(),
                    mixed_at=mixed_at,
                    started_by=by.strip(),
                )
                .returning(adhesive_clock.c.id)
            ).scalar_one()
            connection.execute(insert(clock_reading).values(self._reading_row(clock, first, by)))
        return int(clock)

    def _reading_row(self, clock_id: int, reading: Reading, by: str) -> dict[str, object]:
        return {
            "shop_id": self._shop,
            "adhesive_clock_id": clock_id,
            "at": reading.at,
            "degC": reading.degC,
            "recorded_by": by.strip(),
        }

    def add_temperature(self, clock_id: int, degC: float, at: datetime, by: str) -> None:
        """Add a panel temperature [degC] to a running clock."""
        if at > datetime.now(UTC):
            raise InputError(say("a temperature can only be read now or earlier; correct the time"))
        with self._writing(by, Act.BENCH) as connection:
            self._need_running(connection, clock_id)
            row = self._reading_row(clock_id, Reading(at, degC), by)
            connection.execute(insert(clock_reading).values(row))

    def stop_clock(self, clock_id: int, by: str) -> None:
        """Stop a clock: the adhesive is welded, clamped or thrown away."""
        with self._writing(by, Act.BENCH) as connection:
            self._need_running(connection, clock_id)
            connection.execute(
                update(adhesive_clock)
                .where(adhesive_clock.c.id == clock_id)
                .values(stopped_at=datetime.now(UTC), stopped_by=by.strip())
            )

    def _need_running(self, connection: Connection, clock_id: int) -> None:
        c = adhesive_clock.c
        mine = (c.id == clock_id, c.shop_id == self._shop, c.stopped_at.is_(None))
        if connection.execute(select(c.id).where(*mine)).first() is None:
            raise RecordError(say("no clock with the number {number} runs", number=clock_id))

    def running_clocks(self) -> list[RunningClock]:
        """Return the clocks that run, oldest mixing first."""
        return self._clocks(adhesive_clock.c.stopped_at.is_(None))

    def clocks_since(self, moment: datetime) -> list[RunningClock]:
        """Return the clocks of adhesive mixed from a moment on, stopped or not, oldest first."""
        return self._clocks(adhesive_clock.c.mixed_at >= moment)

    def _clocks(self, condition: ColumnElement[bool]) -> list[RunningClock]:
        c, r = adhesive_clock.c, clock_reading.c
        mine = (c.shop_id == self._shop, condition)
        clocks = (
            select(c.id.label("clock_id"), c.used_for, c.mixed_at, c.stopped_at, adhesive)
            .join(adhesive, adhesive.c.id == c.adhesive_id)
            .where(*mine)
            .order_by(c.mixed_at, c.id)
        )
        readings = (
            select(r.adhesive_clock_id, r.at, r.degC)
            .join(adhesive_clock, c.id == r.adhesive_clock_id)
            .where(*mine)
            .order_by(r.at, r.id)
        )
        with self._reading() as connection:
            found = connection.execute(clocks).mappings().all()
            read: dict[int, list[Reading]] = {}
            for clock_id, at, degC in connection.execute(readings):
                read.setdefault(clock_id, []).append(Reading(at, degC))
        return [
            RunningClock(
                row["clock_id"],
                rows.adhesive_from(row),
                row["used_for"],
                row["mixed_at"],
                tuple(read[row["clock_id"]]),
                row["stopped_at"],
            )
            for row in found
        ]
