"""Bringing a file in: adhesive clocks with their temperatures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Row, insert, select, update

from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.log_file import Placed
from advisor.language import say
from advisor.store.arriving.arrival import records
from advisor.store.arriving.sealed import SealedArrival
from advisor.store.schema import adhesive_clock, clock_reading

_C, _R = adhesive_clock.c, clock_reading.c
_SLACK = timedelta(minutes=5)
_Said = tuple[datetime, float, str]


class ClockArrival(SealedArrival):
    """Clocks: recognised by what was mixed when, for what and by whom."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self._clock_ids: dict[int, int] = {}
        self._readings: dict[int, set[_Said]] = {}
        self._seen: Counter[tuple[Any, ...]] = Counter()

    def bring_in_clocks(self, some: Sequence[Placed]) -> None:
        """Add the clocks that are not here, and stop those that were stopped in the meantime."""
        for placed in some:
            for clock in records([placed], r.Clock):
                with self.at(placed):
                    self._check_mixed(clock)
                self._bring_in_clock(clock)

    def _check_mixed(self, clock: r.Clock) -> None:
        if clock.mixed_at > self.now + _SLACK:
            raise InputError(
                say(
                    "mixed at {mixed_at:%Y-%m-%d %H:%M}, which is in the future (now "
                    "{now:%Y-%m-%d %H:%M} UTC); correct the clock of this computer",
                    mixed_at=clock.mixed_at,
                    now=self.now,
                )
            )

    def _bring_in_clock(self, clock: r.Clock) -> None:
        found = self._clock_here(clock)
        self.count(clock, is_new=found is None)
        if found is None:
            self._clock_ids[clock.number] = self._add_clock(clock)
            self._readings[clock.number] = set()
            return
        self._clock_ids[clock.number] = found.id
        query = select(_R.at, _R.degC, _R.recorded_by).where(_R.adhesive_clock_id == found.id)
        self._readings[clock.number] = {tuple(row) for row in self.connection.execute(query)}
        if found.stopped_at is None and clock.stopped_at is not None:
            stopped = {"stopped_at": clock.stopped_at, "stopped_by": clock.stopped_by}
            mine = update(adhesive_clock).where(_C.id == found.id)
            self.connection.execute(mine.values(**stopped))
            self.notes.append(
                say(
                    "the clock of {adhesive} for {used_for} is stopped now",
                    adhesive=clock.adhesive,
                    used_for=clock.used_for,
                )
            )

    def _clock_here(self, clock: r.Clock) -> Row[Any] | None:
        """Return the clock of the log that says the same; of two alike the second is the second."""
        said = self._said(clock)
        key = tuple(said.values())
        alike = [_C[name] == value for name, value in said.items()]
        query = select(adhesive_clock).where(*alike).order_by(_C.id)
        nth = self._seen[key]
        self._seen[key] += 1
        return self.connection.execute(query.offset(nth).limit(1)).one_or_none()

    def _said(self, clock: r.Clock) -> dict[str, Any]:
        return {
            "shop_id": self.shop_id,
            "adhesive_id": self.adhesive_ids[clock.adhesive],
            "used_for": clock.used_for,
            "mixed_at": clock.mixed_at,
            "started_by": clock.started_by,
        }

    def _add_clock(self, clock: r.Clock) -> int:
        stopped = {"stopped_at": clock.stopped_at, "stopped_by": clock.stopped_by}
        values = {**self._said(clock), **stopped}
        added = self.connection.execute(insert(adhesive_clock).values(**values).returning(_C.id))
        return int(added.scalar_one())

    def bring_in_readings(self, some: Sequence[Placed]) -> None:
        """Add the temperatures that their clocks do not have."""
        new = []
        for each in records(some, r.ClockReading):
            said = (each.reading.at, each.reading.degC, each.by)
            is_new = said not in self._readings[each.clock]
            self.count(each, is_new=is_new)
            if is_new:
                names = ("at", "degC", "recorded_by")
                mine = {"shop_id": self.shop_id, "adhesive_clock_id": self._clock_ids[each.clock]}
                new.append({**mine, **dict(zip(names, said, strict=True))})
        if new:
            self.connection.execute(insert(clock_reading), new)
