"""What the shop lead looks at: counts by what and whom, pairs to compare, causes.

All sums are made by the database; coupons themselves are read for the charts of one machine only,
and never more of them than a chart can show.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, Literal

import pandas as pd
from sqlalchemy import ColumnElement, Connection, Row, Select, case, func, select

from advisor.coupons.causes import Cause
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.purpose import Purpose
from advisor.errors import InputError
from advisor.language import language, msg, say, speaking
from advisor.store import rows
from advisor.store.coupon_reading import named
from advisor.store.joint_rows import caps_from
from advisor.store.predictions import Predictions
from advisor.store.schema import (
    coupon_revision,
    machine,
    machine_event,
    stack,
    welder,
)
from advisor.store.schema import rules as rules_table
from advisor.store.schema import tally as tally_table
from advisor.store.seals import newest
from advisor.store.shop_records import FITTED, REPAIRED, SETTLED
from advisor.store.tally import between
from advisor.weld.electrode import Electrode
from advisor.weld.family import stack_family

Group = Literal["welder", "machine", "adhesive_state", "stack", "family", "purpose"]
Span = Literal["week", "month"]
#: Coupons that limits of drift are made from, and the newest ones they are held against. Common
#: practice, no source.
STABLE, NEWEST = 25, 100
#: Faces are written to 0.01 mm; the same face typed in inches comes out a hair off. [mm]
_SAME_FACE_MM = 0.005
_JUDGED = ("passed", "failed", "open")
_COUNTS = ["name", *_JUDGED]
_R = coupon_revision


@dataclass(frozen=True)
class Which:
    """Which coupons are counted; None and empty for all.

    Parameters
    ----------
    since, until : date or None
        Welded from a day on, and before one (UTC).
    machine, welder : str or None
        Of one machine, of one welder.
    purpose : Purpose or None
        First attempts, set-up coupons or release coupons only.
    """

    since: date | None = None
    until: date | None = None
    machine: str | None = None
    welder: str | None = None
    purpose: Purpose | None = None


ALL = Which()


@dataclass(frozen=True)
class Failures:
    """Why coupons failed.

    Parameters
    ----------
    causes : mapping of str to int
        Coupons by what failed them, in words; one with two causes stands in both.
    failed, judged : int
        Failing coupons, and judged ones.
    expelled, welded : int
        Coupons that threw metal out, whether or not they passed, of all that count, those that
        are not judged yet among them.
    """

    causes: Mapping[str, int]
    failed: int
    judged: int
    expelled: int
    welded: int


class Reviewing(Predictions):
    """Counts and charts of a shop."""

    def pass_counts(self, group: Group, which: Which = ALL) -> pd.DataFrame:
        """Count verdicts, voided coupons left out; the coupons themselves are not read.

        Parameters
        ----------
        group : {'welder', 'machine', 'adhesive_state', 'stack', 'family', 'purpose'}
            What the counts are for.
        which : Which, optional
            Which coupons are counted.

        Returns
        -------
        DataFrame of shape (n_groups, 4)
            ``name``, ``passed``, ``failed``, ``open``.
        """
        counted = between(self._shop, which.since, which.until)
        name = counted.c.purpose if group == "purpose" else _GROUPS[group]
        with self._reading() as connection:
            found = connection.execute(_summed(counted, which, name)).all()
        if group in _OF_STACK:
            words, spoken = _OF_STACK[group], language()
            said = [(words(body, spoken), *rest) for body, *rest in found]
            table = pd.DataFrame(said, columns=_COUNTS)
            return table.groupby("name", as_index=False, sort=True).sum()
        if group in _OF_CODE:
            coded = [(_OF_CODE[group](code), *rest) for code, *rest in found if code]
            return pd.DataFrame(coded, columns=_COUNTS)
        return pd.DataFrame(found, columns=_COUNTS)

    def counts_by_time(self, span: Span, which: Which = ALL) -> pd.DataFrame:
        """Count verdicts a week (from Monday) or a calendar month, days in UTC.

        Parameters
        ----------
        span : {'week', 'month'}
            Length of a period. By the week `which` needs a first day.
        which : Which, optional
            Which coupons are counted; months are counted whole.

        Returns
        -------
        DataFrame of shape (n_periods, 4)
            ``starts`` (date), ``passed``, ``failed``, ``open``, oldest first.
        """
        if span == "week" and which.since is None:
            raise InputError(say("weeks are counted from a day on; choose a period that has one"))
        counted = _span(self._shop, "day" if span == "week" else "month", which)
        with self._reading() as connection:
            found = connection.execute(_summed(counted, which, counted.c.starts)).all()
        table = pd.DataFrame(found, columns=["starts", *_JUDGED])
        if span == "week":
            table["starts"] = [day - timedelta(days=day.weekday()) for day in table["starts"]]
            table = table.groupby("starts", as_index=False, sort=True).sum()
        return table

    def failures(self, which: Which = ALL) -> Failures:
        """Count what failed coupons, and expulsions."""
        counted = between(self._shop, which.since, which.until)
        named_causes = (f"by_{cause.value}" for cause in Cause)
        columns = ["passed", "failed", "open", "expelled", *named_causes]
        sums = [func.coalesce(func.sum(counted.c[name]), 0) for name in columns]
        query = _joined(select(*sums).select_from(counted), counted).where(*_asked(counted, which))
        with self._reading() as connection:
            passed, failed, still_open, expelled, *by = connection.execute(query).one()
        causes = {cause.label: int(n) for cause, n in zip(Cause, by, strict=True) if n}
        judged = int(passed + failed)
        return Failures(causes, int(failed), judged, int(expelled), judged + int(still_open))

    def strata(self, a: str, b: str, which: Which = ALL) -> pd.DataFrame:
        """Count the verdicts of two welders on each machine and stack.

        Parameters
        ----------
        a, b : str
            The welders.
        which : Which, optional
            Which coupons are counted; its welder is not looked at.

        Returns
        -------
        DataFrame of shape (n_strata, 5)
            ``stratum``, ``passed_a``, ``failed_a``, ``passed_b``, ``failed_b``.
        """
        counted = between(self._shop, which.since, which.until)
        t = counted.c
        sums = [
            func.sum(case((welder.c.name_key == rows.name_key(who), t[name]), else_=0))
            for who in (a, b)
            for name in ("passed", "failed")
        ]
        query = (
            _joined(select(machine.c.name, stack.c.body, *sums).select_from(counted), counted)
            .where(
                *_asked(counted, which, whoever=True),
                welder.c.name_key.in_([rows.name_key(a), rows.name_key(b)]),
            )
            .group_by(machine.c.name, stack.c.id, stack.c.title, stack.c.body)
            .order_by(machine.c.name, stack.c.title)
        )
        with self._reading() as connection:
            found = [
                (f"{gun}, {_title(body, language())}", *map(int, counts))
                for gun, body, *counts in connection.execute(query)
            ]
        names = ["stratum", "passed_a", "failed_a", "passed_b", "failed_b"]
        return pd.DataFrame(found, columns=names)

    def electrodes(self, machine_name: str) -> list[Electrode]:
        """Return the electrodes that a machine has had, the one fitted now first."""
        with self._reading() as connection:
            found = self._fittings(connection, self._need(connection, machine, machine_name).id)
        return list(dict.fromkeys(_electrode(row) for row in found))

    def drift_coupons(
        self, machine_name: str, electrode: Electrode
    ) -> tuple[list[LoggedCoupon], list[LoggedCoupon]]:
        """Return the coupons that limits of drift are made from, and the newest ones since.

        Limits are made from the first `STABLE` coupons with this electrode since it was first
        fitted, since the last repair and since a lead let them begin anew, whichever is newest.

        Parameters
        ----------
        machine_name : str
            The machine.
        electrode : Electrode
            Its caps; shape and face count.

        Returns
        -------
        (list of LoggedCoupon, list of LoggedCoupon)
            Oldest first, and the `NEWEST` of those after them, oldest first too.
        """
        m = _R.c
        with self._reading() as connection:
            gun = self._need(connection, machine, machine_name)
            mine = [
                m.machine_id == gun.id,
                m.voided == "",
                m.outcome != "open",
                m.cap_shape == electrode.shape.value,
                m.face_mm.between(
                    electrode.face_mm - _SAME_FACE_MM, electrode.face_mm + _SAME_FACE_MM
                ),
            ]
            begin = self._limits_begin(connection, gun.id, electrode)
            since = [] if begin is None else [m.made_at >= begin]
            query = self._newest_revisions(*mine, *since)
            stable = self._load(connection, query.order_by(m.made_at, m.coupon_id).limit(STABLE))
            if len(stable) < STABLE:
                return stable, []
            # Coupons of one moment may lie on both sides of the border.
            after = self._newest_revisions(*mine, m.made_at >= stable[-1].coupon.made_at)
            newest = after.order_by(m.made_at.desc(), m.coupon_id.desc()).limit(NEWEST + STABLE)
            used = {each.number for each in stable}
            rest = [each for each in self._load(connection, newest) if each.number not in used]
            return stable, rest[:NEWEST][::-1]

    def _fittings(self, connection: Connection, machine_id: int) -> list[Row[Any]]:
        e = machine_event.c
        query = select(machine_event).where(e.machine_id == machine_id, e.kind == FITTED)
        return list(connection.execute(query.order_by(e.at.desc(), e.id.desc())))

    def _limits_begin(self, connection: Connection, machine_id: int, electrode: Electrode) -> Any:
        fitted = [
            row.at
            for row in self._fittings(connection, machine_id)
            if _electrode(row).shape is electrode.shape
            and abs(_electrode(row).face_mm - electrode.face_mm) <= _SAME_FACE_MM
        ]
        anew = self._newest(connection, machine_id, REPAIRED, SETTLED)
        moments = [*fitted[-1:], *([anew.at] if anew else [])]
        return max(moments, default=None)

    def drift_seal(self) -> str:
        """Return what stays the same as long as nothing is written that drift is read from."""
        tables = (coupon_revision, machine_event, rules_table)
        with self._reading() as connection:
            return newest(connection, tables, self._shop)


_GROUPS: dict[str, ColumnElement[Any]] = {
    "welder": welder.c.name,
    "machine": machine.c.name,
    "adhesive_state": stack.c.adhesive_state,
    "stack": stack.c.body,
    "family": stack.c.body,
}


def _joined(query: Select[Any], counted: Any) -> Select[Any]:
    return (
        query.join(welder, welder.c.id == counted.c.welder_id)
        .join(machine, machine.c.id == counted.c.machine_id)
        .join(stack, stack.c.id == counted.c.stack_id)
    )


def _asked(counted: Any, which: Which, *, whoever: bool = False) -> list[ColumnElement[bool]]:
    found = named(which.machine, None if whoever else which.welder)
    if which.purpose is not None:
        found.append(counted.c.purpose == which.purpose.value)
    return found


def _summed(counted: Any, which: Which, name: ColumnElement[Any]) -> Select[Any]:
    """Return verdicts added up by a name; names without a verdict are left out."""
    sums = [func.sum(counted.c[column]) for column in _JUDGED]
    return (
        _joined(select(name, *sums).select_from(counted), counted)
        .where(*_asked(counted, which))
        .group_by(name)
        .having(sums[0] + sums[1] + sums[2] > 0)
        .order_by(name)
    )


def _span(shop_id: int, span: str, which: Which) -> Any:
    t = tally_table.c
    query = select(tally_table).where(t.shop_id == shop_id, t.span == span)
    if which.since is not None:
        first = which.since if span == "day" else which.since.replace(day=1)
        query = query.where(t.starts >= first)
    if which.until is not None:
        query = query.where(t.starts < which.until)
    return query.subquery("counted")


@lru_cache(maxsize=1000)
def _family(body: str, spoken: str) -> str:
    with speaking(spoken):
        return stack_family(rows.stack_from(body, turned_over=False))


@lru_cache(maxsize=1000)
def _title(body: str, spoken: str) -> str:
    with speaking(spoken):
        return rows.stack_from(body, turned_over=False).title()


_STATES = {
    "none": msg("none"),
    "wet": msg("wet"),
    "part_cured": msg("part_cured"),
    "cured": msg("cured"),
}
#: Groups that are told from the body of a stack, in a language, and those that have a code.
_OF_STACK: dict[str, Callable[[str, str], str]] = {"family": _family, "stack": _title}
_OF_CODE: dict[str, Callable[[str], str]] = {
    "purpose": lambda code: Purpose.of(code).label,
    "adhesive_state": lambda code: say(_STATES[code]),
}


def _electrode(row: Row[Any]) -> Electrode:
    found = caps_from(row._mapping)
    if found is None:
        raise TypeError("caps were fitted without saying which")
    return found
