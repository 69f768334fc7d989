"""Coupons in the log: added, corrected, voided, imported; never changed, never deleted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import islice
from typing import Any

from sqlalchemy import Connection, func, select

from advisor.coupons.coupon import Coupon
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import LoggedCoupon
from advisor.errors import InputError, LostRaceError, RecordError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.base import is_newest
from advisor.store.coupon_writing import CouponWriting, Judged
from advisor.store.race import side_by_side
from advisor.store.schema import coupon, coupon_revision
from advisor.store.schema import rules as rules_table

_R = coupon_revision
IMPORTED = "imported"
#: Coupons judged and written together; the whole import is one transaction all the same.
_AT_ONCE = 5000


class CouponRecords(CouponWriting):
    """The coupons of a shop."""

    def add_coupon(
        self,
        new: Coupon,
        by: str,
        now: datetime | None = None,
        foretold: Foretold | None = None,
    ) -> LoggedCoupon:
        """Judge a coupon by the rules that hold now and keep it.

        Parameters
        ----------
        new : Coupon
            What was welded and found.
        by : str
            Who writes it down.
        now : datetime, optional
            Moment of writing; the clock's when left out.
        foretold : Foretold, optional
            What the advisor said of it before anybody saw the result.

        Returns
        -------
        LoggedCoupon
            Its number and verdict.

        Raises
        ------
        InputError, LimitError, RecordError
            From the future, beyond the machine, or an unknown welder or machine; nothing is kept.
        """
        now = now or datetime.now(UTC)
        self._check_named(by)
        written = self._add_quickly(new, by, now, foretold)
        if written is None:
            with self._writing(by, Act.BENCH) as connection:
                (written,) = self._judge(connection, [new], by, now)
                self._number(connection, [written], self._last_number(connection))
                self._write(connection, [written])
                self._keep_foretold(connection, written, foretold)
        return written.logged()

    def import_coupons(
        self,
        new: Iterable[Coupon],
        by: str,
        now: datetime | None = None,
        origin: str = IMPORTED,
    ) -> list[int]:
        """Keep many coupons in one transaction, or none of them.

        A coupon that the log holds already, to the last figure of any of its revisions, is left
        out: the same file twice adds nothing, and brings no voided coupon back.

        Returns
        -------
        list of int
            Numbers of those that are new.

        Raises
        ------
        InputError
            The first coupon that cannot be kept, with its place in the list; nothing is kept.
        """
        now, seen = now or datetime.now(UTC), 0
        with self._writing(by, Act.BENCH) as connection:
            before = last = self._last_number(connection)
            for some in _batches(new):
                unknown = self._unknown(connection, some, before)
                judged = self._judge(connection, unknown, by, now, first_place=seen + 1)
                seen += len(some)
                if not judged:
                    continue
                for one in judged:
                    one.values["origin"] = origin
                self._number(connection, judged, last)
                self._write(connection, judged)
                last += len(judged)
            if not seen:
                raise InputError(say("there is no coupon to import"))
        return list(range(before + 1, last + 1))

    def _unknown(
        self, connection: Connection, new: Sequence[Coupon], last: int
    ) -> Sequence[Coupon]:
        """Return the coupons that no revision of the coupons up to number `last` equals."""
        if not last:
            return new
        moments = sorted({each.made_at for each in new})
        known: set[Coupon] = set()
        for start in range(0, len(moments), 500):
            some = _R.c.made_at.in_(moments[start : start + 500])
            query = self._all_revisions().where(some, coupon.c.number <= last)
            known.update(logged.coupon for logged in self._load(connection, query))
        return [each for each in new if each not in known]

    def correct_coupon(
        self,
        number: int,
        corrected: Coupon,
        by: str,
        why: str,
        now: datetime | None = None,
        revision: int | None = None,
    ) -> LoggedCoupon:
        """Keep a corrected coupon as a new revision; the earlier ones stay readable.

        It is judged by the rules that hold now.

        Parameters
        ----------
        number : int
            Number of the coupon.
        corrected : Coupon
            As it should have been written down.
        by, why : str
            Who corrects it, and the reason.
        now : datetime, optional
            Moment of writing; the clock's when left out.
        revision : int, optional
            The revision that the form started from.

        Raises
        ------
        RecordError
            No such coupon, or it is voided.
        LostRaceError
            It has a newer revision than the one the form started from.
        RoleError
            Somebody else welded it and wrote it down, and `by` is no lead.
        """
        now = now or datetime.now(UTC)
        with self._writing(by, Act.BENCH) as connection:
            before, old = self._to_revise(connection, number, why)
            if rows.name_key(by) not in map(
                rows.name_key, (before.coupon.welder, old["recorded_by"])
            ):
                self._may(connection, by, Act.CORRECT_ANOTHERS)
            _check_revision(before, corrected, revision)
            (new,) = self._judge(connection, [corrected], by, now, before.coupon)
            return self._revise(connection, before, old, new, why)

    def undo_coupon(self, number: int, by: str, now: datetime | None = None) -> LoggedCoupon:
        """Void the coupon that somebody has just logged: the shop's newest, one's own, untouched.

        Raises
        ------
        RecordError
            It is another's, not the newest, corrected since, or logged too long ago.
        """
        at = now or datetime.now(UTC)
        with self._writing(by, Act.BENCH) as connection:
            why = f"undone by {by.strip()} right after logging it"
            before, old = self._to_revise(connection, number, why)
            newest = select(func.max(coupon.c.number)).where(coupon.c.shop_id == self._shop)
            is_last = connection.scalar(newest) == number and before.revision == 1
            if not is_last or old["recorded_by"] != by.strip() or at > old["recorded_at"] + UNDO:
                raise RecordError(
                    say(
                        "coupon #{number} cannot be undone: only whoever logged the newest coupon "
                        "can, within {minutes:.0f} minutes; ask a lead to void it",
                        number=number,
                        minutes=UNDO.total_seconds() / 60,
                    )
                )
            return self._voided(connection, before, old, by, why, at)

    def void_coupon(
        self, number: int, by: str, why: str, now: datetime | None = None
    ) -> LoggedCoupon:
        """Let a coupon no longer count, for good; its row stays, with who, when and why."""
        with self._writing(by, Act.VOID) as connection:
            before, old = self._to_revise(connection, number, why)
            return self._voided(connection, before, old, by, why, now or datetime.now(UTC))

    def _voided(
        self,
        connection: Connection,
        before: LoggedCoupon,
        old: dict[str, Any],
        by: str,
        why: str,
        at: datetime,
    ) -> LoggedCoupon:
        """Write the void; the verdict and its rules stay, so nothing can forbid it."""
        values = {
            **{name: old[name] for name in _COPIED},
            "voided": why.strip(),
            "recorded_by": by.strip(),
            "recorded_at": at,
        }
        new = Judged(before.coupon, before.verdict, values, old["rules_seal"])
        return self._revise(connection, before, old, new, why)

    def _to_revise(
        self, connection: Connection, number: int, why: str
    ) -> tuple[LoggedCoupon, dict[str, Any]]:
        """Return a coupon that may still be revised, its row and its rules' seal."""
        if not why.strip():
            raise InputError(say("a correction or a void needs its reason in a few words"))
        before = self._one(connection, number)
        if before.voided:
            raise RecordError(
                say(
                    "coupon #{number} is voided ({why}) and stays so; log it anew if it should "
                    "count after all",
                    number=number,
                    why=before.voided,
                )
            )
        query = (
            select(*(_R.c[name] for name in _COPIED), rules_table.c.seal.label("rules_seal"))
            .join(coupon, coupon.c.id == _R.c.coupon_id)
            .join(rules_table, rules_table.c.id == _R.c.rules_id)
            .where(coupon.c.shop_id == self._shop, coupon.c.number == number, is_newest())
        )
        return before, dict(connection.execute(query).mappings().one())

    def _revise(
        self,
        connection: Connection,
        before: LoggedCoupon,
        old: dict[str, Any],
        new: Judged,
        why: str,
    ) -> LoggedCoupon:
        new.number, new.replaces = before.number, old
        new.values.update(
            coupon_id=old["coupon_id"],
            revision=before.revision + 1,
            why=why.strip(),
            origin=old["origin"],
        )
        self._write(connection, [new])
        return new.logged()


#: How long whoever logged a coupon can take it back: common practice, no source.
UNDO = timedelta(minutes=10)
_COPIED = tuple(c.name for c in _R.c if c.name not in {"id", "place", "seal"})


def _check_revision(before: LoggedCoupon, mine: Coupon, revision: int | None) -> None:
    if revision is None or revision == before.revision:
        return
    raise LostRaceError(
        say(
            "coupon #{number} was corrected by somebody else since this form was opened (revision "
            "{revision} now), so nothing of yours is stored yet. {differences}. Keep yours once "
            "more to put it over theirs, or leave theirs.",
            number=before.number,
            revision=before.revision,
            differences=side_by_side(before.coupon, mine),
        )
    )


def _batches(new: Iterable[Coupon]) -> Iterator[list[Coupon]]:
    walk = iter(new)
    while some := list(islice(walk, _AT_ONCE)):
        yield some
