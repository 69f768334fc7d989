"""Bringing a file in: the way of a whole file, from its first record to what is told of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby, islice
from typing import Any

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.exchange import records as r
from advisor.exchange.arrived import Arrived, Counted
from advisor.exchange.kinds import KINDS
from advisor.exchange.log_file import Placed
from advisor.language import say
from advisor.store.arriving.clocks import ClockArrival
from advisor.weld.machine import Machine

_AT_ONCE = 1000


class FileArrival(ClockArrival):
    """All of a file."""

    def bring_in(self) -> Arrived:
        """Bring in all that the log does not hold, in the order of the file."""
        self.number_coupons()
        walk = self.file.records()
        for kind, group in groupby(walk, key=lambda placed: type(placed.record)):
            while some := list(islice(group, _AT_ONCE)):
                _WAYS[kind](self, some)
        self.check_lead()
        self.settle_rules()
        if self.photos_left_out:
            self.notes.append(
                say(
                    "photos left out: {count:,}, their pictures are not here; copy the folder of "
                    "the photos beside this log, and bring the file in again",
                    count=self.photos_left_out,
                )
            )
        self._note_in_log()
        counts = [Counted(k.name, self.new[k.name], self.known[k.name]) for k in KINDS]
        renumbered = tuple(self.numbering.changed())
        shop = self.file.header.shop
        return Arrived(shop, tuple(counts), renumbered, tuple(dict.fromkeys(self.notes)))

    def _note_in_log(self) -> None:
        """Leave a line in the log of changes, unless only such lines came in."""
        added = {name: count for name, count in self.new.items() if count}
        if set(added) - {"change"}:
            header = self.file.header
            after = {"written_at": header.written_at.isoformat(), "new": added}
            what = f"log of {header.shop} brought in"
            self.log._log_change(self.connection, self.by, what, None, after)


_Way = Callable[[FileArrival, Sequence[Placed]], None]
_WAYS: dict[type[Any], _Way] = {
    r.Person: FileArrival.bring_in_people,
    Machine: FileArrival.bring_in_machines,
    r.Event: FileArrival.bring_in_sealed,
    Adhesive: FileArrival.bring_in_adhesives,
    r.RulesVersion: FileArrival.bring_in_rules,
    r.Job: FileArrival.bring_in_jobs,
    Joint: FileArrival.bring_in_joints,
    r.UsualJoint: FileArrival.bring_in_usual,
    r.CouponRevision: FileArrival.bring_in_revisions,
    r.CouponForetold: FileArrival.bring_in_sealed,
    r.Photo: FileArrival.bring_in_sealed,
    r.JointRelease: FileArrival.bring_in_sealed,
    r.JointCheck: FileArrival.bring_in_sealed,
    MakerRecommendation: FileArrival.bring_in_sealed,
    r.Clock: FileArrival.bring_in_clocks,
    r.ClockReading: FileArrival.bring_in_readings,
    r.Change: FileArrival.bring_in_sealed,
}
