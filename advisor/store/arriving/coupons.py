"""Bringing a file in: every revision of every coupon, as it was judged and written down.

A coupon that is here already is recognised by its first revision: what it says, who wrote it down
and when. Of that coupon only the revisions that are missing here are added, and only behind those
that both have.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from typing import Any

from sqlalchemy import select

from advisor.coupons.coupon import Coupon
from advisor.coupons.verdict import Outcome, causes
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.log_file import Placed
from advisor.exchange.numbering import Numbering
from advisor.language import say
from advisor.store import rows
from advisor.store.arriving.arrival import Names
from advisor.store.arriving.joints import JointArrival
from advisor.store.arriving.shelves import revision_from
from advisor.store.base import is_newest
from advisor.store.coupon_writing import Judged, insert_rows
from advisor.store.schema import coupon, coupon_revision, machine, welder
from advisor.store.schema import rules as rules_table
from advisor.weld.machine import Machine

_R = coupon_revision
_History = dict[int, r.CouponRevision]
#: What counting a revision anew needs of the one it replaces, and what it keeps of it.
_KEPT = (
    *("shop_id", "coupon_id", "made_at", "welder_id", "machine_id", "stack_id"),
    *("outcome", "expulsion", "purpose", "causes", "voided", "origin"),
)
_LONGEST_ORIGIN = 200
_AT_ONCE = 500


class CouponArrival(JointArrival):
    """The coupons of a file."""

    numbering: Numbering

    def number_coupons(self) -> None:
        """Find the coupons of the file that are here, and give the others their numbers.

        A log that has coupons is compared with the whole file before anything is written.
        """
        here = self.log._last_number(self.connection)
        self.numbering = Numbering(self.file.header.coupons, here)
        first = self._first_revisions()
        while here and (some := list(islice(first, _AT_ONCE))):
            self._recognise(some)
        self.numbering.give_numbers()

    def _first_revisions(self) -> Iterator[r.CouponRevision]:
        """Walk the first revision of each coupon of the file, with the names of the log."""
        names = Names()
        for placed in self.file.records():
            record = placed.record
            if isinstance(record, r.CouponRevision):
                if record.revision == 1:
                    yield replace(record, coupon=names.in_coupon(record.coupon))
            elif isinstance(record, r.Person):
                found = self.log._find(self.connection, welder, record.name)
                names.people[record.name] = found.name if found else record.name
            elif isinstance(record, Machine):
                found = self.log._find(self.connection, machine, record.name)
                names.machines[record.name] = found.name if found else record.name
            elif isinstance(record, r.Job):
                found = self.log._job(self.connection, record.number)
                names.jobs[record.number] = found.number if found else record.number

    def _recognise(self, some: Sequence[r.CouponRevision]) -> None:
        moments = {each.coupon.made_at for each in some}
        found: dict[tuple[Coupon, str, Any], list[int]] = defaultdict(list)
        for each in self._revisions_here(_R.c.made_at.in_(moments), _R.c.revision == 1):
            found[each.coupon, each.by, each.at].append(each.number)
        for each in some:
            here = found.get((each.coupon, each.by, each.at), ())
            any(self.numbering.recognise(each.number, number) for number in here)

    def _revisions_here(self, *which: Any) -> list[r.CouponRevision]:
        """Return what the log had before, in the order it was written, as records."""
        query = (
            self.log._all_revisions()
            .join(rules_table, rules_table.c.id == _R.c.rules_id)
            .add_columns(rules_table.c.place.label("rules_number"))
            .where(*which)
        )
        # Left to the database, place would be the index it takes, and it would walk the whole log.
        before = self.ends[_R.name]
        rows_here = self.connection.execute(query).mappings()
        found = sorted((row for row in rows_here if row["place"] <= before), key=_place)
        logged = self.log._with_results(self.connection, found)
        return [revision_from(row, each) for row, each in zip(found, logged, strict=True)]

    def bring_in_revisions(self, some: Sequence[Placed]) -> None:
        """Add the revisions that are not here."""
        as_here = [self._as_here(_revision(placed)) for placed in some]
        histories = self._histories(some)
        new = []
        for placed, record in zip(some, as_here, strict=True):
            with self.at(placed):
                is_new = self._is_new(record, histories.get(record.number))
                if is_new:
                    record.coupon.check_time(self.now)
            self.count(record, is_new=is_new)
            if is_new:
                new.append((_revision(placed), record))
        if new:
            self._write(new)

    def _as_here(self, record: r.CouponRevision) -> r.CouponRevision:
        """Return a revision with the names and numbers of the log."""
        return replace(
            record,
            number=self.numbering.here(record.number),
            coupon=self.names.in_coupon(record.coupon),
            rules=self.rules_of[record.rules].number,
        )

    def _histories(self, some: Sequence[Placed]) -> dict[int, _History]:
        """Return what the log had of the coupons that it knew before anything was brought in."""
        numbers = {_revision(placed).number for placed in some}
        known = [self.numbering.here(n) for n in numbers if self.numbering.is_known(n)]
        found: dict[int, _History] = defaultdict(dict)
        if known:
            for each in self._revisions_here(coupon.c.number.in_(known)):
                found[each.number][each.revision] = each
        return found

    def _is_new(self, record: r.CouponRevision, history: _History | None) -> bool:
        """Whether a revision has to be added; refused where the file tells another history."""
        if not history:
            return True
        same = history.get(record.revision)
        newest = history[max(history)]
        if same is None and newest.voided:
            raise InputError(
                say(
                    "coupon #{number} is voided here ({why}) and stays so, but the file goes on "
                    "with it; nothing was brought in",
                    number=record.number,
                    why=newest.voided,
                )
            )
        if same is not None and replace(record, origin=same.origin) != same:
            raise InputError(
                say(
                    "coupon #{number} has another history here than in the file, from revision "
                    "{revision} on; nothing was brought in",
                    number=record.number,
                    revision=record.revision,
                )
            )
        return same is None

    def _write(self, new: Sequence[tuple[r.CouponRevision, r.CouponRevision]]) -> None:
        stacks = self.log._stack_ids(self.connection, [here.coupon.stack for _, here in new])
        made = self._add_coupons([here.number for _, here in new if here.revision == 1])
        last = self._newest_rows([here.number for _, here in new if here.revision > 1])
        judged = []
        for (in_file, here), stack_id in zip(new, stacks, strict=True):
            before = last.get(here.number)
            values = self._values(in_file, here, before)
            values["stack_id"] = stack_id
            values["coupon_id"] = before["coupon_id"] if before else made[here.number]
            seal = self.rules_of[in_file.rules].seal
            judged.append(Judged(here.coupon, here.verdict, values, seal, here.number, before))
            last[here.number] = values
        self.log._write(self.connection, judged)

    def _add_coupons(self, numbers: Sequence[int]) -> dict[int, int]:
        """Make coupons and return their ids by their numbers."""
        if not numbers:
            return {}
        made = [{"shop_id": self.shop_id, "number": number} for number in numbers]
        return dict(zip(numbers, insert_rows(self.connection, coupon, made), strict=True))

    def _newest_rows(self, numbers: Sequence[int]) -> dict[int, Mapping[str, Any]]:
        query = (
            select(coupon.c.number, *(_R.c[name] for name in _KEPT))
            .join(coupon, coupon.c.id == _R.c.coupon_id)
            .where(coupon.c.shop_id == self.shop_id, coupon.c.number.in_(numbers), is_newest())
        )
        found = self.connection.execute(query).mappings() if numbers else ()
        return {row["number"]: dict(row) for row in found}

    def _values(
        self,
        in_file: r.CouponRevision,
        here: r.CouponRevision,
        before: Mapping[str, Any] | None,
    ) -> dict[str, Any]:
        return {
            **rows.coupon_values(here.coupon),
            **rows.verdict_values(here.verdict),
            "causes": self._causes(in_file, here),
            "welder_id": self.person_ids[in_file.coupon.welder],
            "machine_id": self.machine_ids[in_file.coupon.machine],
            "rules_id": self.rules_of[in_file.rules].id,
            "shop_id": self.shop_id,
            "revision": here.revision,
            "voided": here.voided,
            "why": here.why,
            "origin": before["origin"] if before else self._origin(in_file, here),
            "recorded_by": here.by,
            "recorded_at": here.at,
        }

    def _causes(self, in_file: r.CouponRevision, here: r.CouponRevision) -> str:
        """Return why a coupon failed, as it is counted; nothing where it did not."""
        if here.verdict.outcome is not Outcome.FAIL:
            return ""
        try:
            why = causes(here.coupon, self.rules_of[in_file.rules].rules.judging)
        except InputError:
            return ""  # rules that say nothing about so many sheets, beside a verdict all the same
        return rows.causes_text(why)

    def _origin(self, in_file: r.CouponRevision, here: r.CouponRevision) -> str:
        """Say where a coupon comes from that has another number on its metal than here."""
        if in_file.number == here.number:
            return here.origin
        was = f"#{in_file.number} of {self.file.header.shop}"
        told = f"{here.origin}; {was}" if here.origin else was
        return told if len(told) <= _LONGEST_ORIGIN else here.origin


def _place(row: Mapping[Any, Any]) -> int:
    return int(row["place"])


def _revision(placed: Placed) -> r.CouponRevision:
    record = placed.record
    if not isinstance(record, r.CouponRevision):
        raise TypeError(f"{placed.where} is no revision of a coupon")
    return record
