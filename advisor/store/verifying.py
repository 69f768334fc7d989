"""Walking the chains of the log: the first row that was changed, removed or slipped in is named."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, Table, func, or_, select

from advisor.language import msg, say
from advisor.store import rows
from advisor.store.base import is_newest
from advisor.store.photos import Photos
from advisor.store.schema import (
    SEALED,
    change_log,
    coupon,
    coupon_photo,
    coupon_revision,
    foretold,
    interface_result,
    job,
    joint,
    machine,
    machine_event,
    maker_recommendation,
    preparation_check,
    release,
    rules,
    stack,
    tally,
    welder,
)
from advisor.store.seals import newest, plain, seal_of

_AT_ONCE = 2000
_OUTCOMES = {"pass": "passed", "fail": "failed", "open": "open"}
_MISCOUNTED = {
    "pass": msg("pages count {shown} coupons as pass, the log holds {held}"),
    "fail": msg("pages count {shown} coupons as fail, the log holds {held}"),
    "open": msg("pages count {shown} coupons as open, the log holds {held}"),
}
_ROWS = {
    release.name: msg("release {number}"),
    rules.name: msg("rules {number}"),
    machine_event.name: msg("machine event {number}"),
    preparation_check.name: msg("preparation check {number}"),
    maker_recommendation.name: msg("maker recommendation {number}"),
    coupon_photo.name: msg("coupon photo {number}"),
    foretold.name: msg("foretold {number}"),
    change_log.name: msg("change log {number}"),
}
_POINTS: dict[str, Sequence[tuple[str, Table, str]]] = {
    machine_event.name: [("machine", machine, "name")],
    maker_recommendation.name: [("machine", machine, "name"), ("stack", stack, "fingerprint")],
    coupon_photo.name: [("number", coupon, "number")],
    foretold.name: [("number", coupon, "number")],
    coupon_revision.name: [
        ("machine", machine, "name"),
        ("stack", stack, "fingerprint"),
        ("number", coupon, "number"),
        ("welder", welder, "name"),
        ("rules", rules, "seal"),
    ],
}


@dataclass(frozen=True)
class Chained:
    """One table's chain as it was found.

    Parameters
    ----------
    table : str
        Name of the table.
    rows : int
        Rows that fit, from the first on.
    seal : str
        Seal of the last of them.
    wrong : str
        The first row that does not fit, in words; empty when all do.
    """

    table: str
    rows: int
    seal: str
    wrong: str = ""

    def line(self) -> str:
        """Return it in one line, with the last seal that fits."""
        found = self.wrong or say("{rows} rows fit", rows=self.rows)
        if not self.seal:
            return f"{self.table}: {found}"
        return say(
            "{table}: {found}, last seal {seal}", table=self.table, found=found, seal=self.seal
        )


@dataclass(frozen=True)
class Report:
    """What a walk through the log found.

    Parameters
    ----------
    chains : tuple of Chained
        Every sealed table.
    faults : tuple of str
        What else does not fit.
    """

    chains: tuple[Chained, ...]
    faults: tuple[str, ...] = field(default=())

    @property
    def is_sound(self) -> bool:
        """Whether every row fits."""
        return not self.faults and not any(each.wrong for each in self.chains)

    def lines(self) -> list[str]:
        """Return the report in lines to print."""
        found = [each.line() for each in self.chains]
        if self.is_sound:
            return [*found, say("the log is sound")]
        return [*found, *self.faults, say("THE LOG DOES NOT FIT; keep this file")]


class Verifying(Photos):
    """Checks of the log against its own seals."""

    def verify(self) -> Report:
        """Walk every chain of this shop and compare what is counted or keyed beside it.

        A chain shows a row that was changed, removed from the middle or slipped in. It cannot show
        that its newest rows were cut off: keep the last seal elsewhere (`holds_seal`).
        """
        chains = tuple(self._walk(table) for table in SEALED)
        faults = (
            *self._stack_faults(),
            *self._number_faults(),
            *self._count_faults(),
            *self.photo_faults(),
        )
        return Report(chains, faults)

    def holds_seal(self, seal: str) -> bool:
        """Whether a seal that was noted elsewhere is still in the log."""
        with self._reading() as connection:
            return any(
                connection.execute(
                    select(t.c.place).where(t.c.shop_id == self._shop, t.c.seal == seal).limit(1)
                ).first()
                for t in SEALED
            )

    def newest_seals(self) -> str:
        """Return what stays the same as long as nothing is written that a page reads.

        Not told are what only its writer sees (drafts, preferences), who is signed in, and the
        running clocks.
        """
        with self._reading() as connection:
            return newest(connection, SEALED, self._shop)

    def last_seal(self) -> str:
        """Return the seal of the newest revision of any coupon; empty in a log without one."""
        query = (
            select(coupon_revision.c.seal)
            .where(coupon_revision.c.shop_id == self._shop)
            .order_by(coupon_revision.c.place.desc())
            .limit(1)
        )
        with self._reading() as connection:
            return connection.execute(query).scalar() or ""

    def _walk(self, table: Table) -> Chained:
        place, seal = 0, ""
        for row, says in self._said(table):
            name = _name(table, row)
            if row["place"] != place + 1:
                gap = say(
                    "{row}: place {place} of the chain is missing before it",
                    row=name,
                    place=place + 1,
                )
                return Chained(table.name, place, seal, gap)
            if row["seal"] != seal_of(table.name, place + 1, seal, says):
                changed = say(
                    "{row}: it does not say what was sealed, or the row before was replaced",
                    row=name,
                )
                return Chained(table.name, place, seal, changed)
            place, seal = place + 1, row["seal"]
        return Chained(table.name, place, seal)

    def _said(self, table: Table) -> Iterator[tuple[RowMapping, dict[str, Any]]]:
        """Walk the rows of a table in the order of their places, with what each says."""
        query, points = _meaning(table)
        query = query.where(table.c.shop_id == self._shop).order_by(table.c.place)
        last = -1
        while True:
            with self._reading() as connection:
                some = query.where(table.c.place > last).limit(_AT_ONCE)
                found = connection.execute(some).mappings().all()
                results = self._results_of(connection, table, found)
            for row in found:
                says = plain(table, {c.name: row[c.name] for c in table.c})
                says.update({key: read(row) for key, read in points.items()})
                if table is coupon_revision:
                    says["results"] = results.get(row["id"], [])
                yield row, says
            if len(found) < _AT_ONCE:
                return
            last = found[-1]["place"]

    def _results_of(
        self, connection: Connection, table: Table, found: Sequence[Any]
    ) -> dict[int, list[Any]]:
        if table is not coupon_revision or not found:
            return {}
        i, r = interface_result.c, coupon_revision.c
        ends = (found[0]["place"], found[-1]["place"])
        query = (
            select(interface_result)
            .join(coupon_revision, r.id == i.coupon_revision_id)
            .where(r.shop_id == self._shop, r.place.between(*ends))
            .order_by(i.coupon_revision_id, i.position)
        )
        results: dict[int, list[Any]] = {}
        for each in connection.execute(query).mappings():
            results.setdefault(each["coupon_revision_id"], []).append(rows.result_words(each))
        return results

    def _stack_faults(self) -> Iterator[str]:
        query = select(stack.c.body, stack.c.fingerprint, stack.c.title)
        with self._reading() as connection:
            for each in connection.execute(query.where(stack.c.shop_id == self._shop)):
                if sha256(each.body.encode()).hexdigest() != each.fingerprint:
                    yield say(
                        "stack {title}: its sheets are not those it was stored with",
                        title=each.title,
                    )

    def _number_faults(self) -> Iterator[str]:
        """Name a gap in the numbers of coupons, and a coupon without a first entry."""
        first = (coupon_revision.c.coupon_id == coupon.c.id) & (coupon_revision.c.revision == 1)
        numbered = (
            select(
                coupon.c.number,
                func.row_number().over(order_by=coupon.c.number).label("place"),
                coupon_revision.c.id.label("first"),
            )
            .select_from(coupon.outerjoin(coupon_revision, first))
            .where(coupon.c.shop_id == self._shop)
            .subquery()
        )
        wrong = select(numbered).where(
            or_(numbered.c.number != numbered.c.place, numbered.c.first.is_(None))
        )
        with self._reading() as connection:
            found = connection.execute(wrong.order_by(numbered.c.number).limit(1)).first()
        if found is None:
            return
        if found.number != found.place:
            yield say(
                "coupon #{missing} is missing before coupon #{number}",
                missing=found.place,
                number=found.number,
            )
        else:
            yield say("coupon #{number} has no first entry", number=found.number)

    def _count_faults(self) -> Iterator[str]:
        """Compare the counts that pages show with the revisions themselves."""
        r = coupon_revision.c
        mine = (r.shop_id == self._shop, r.voided == "", is_newest())
        counted = select(r.outcome, func.count()).where(*mine).group_by(r.outcome)
        sums = [func.coalesce(func.sum(tally.c[name]), 0) for name in _OUTCOMES.values()]
        kept = select(*sums).where(tally.c.shop_id == self._shop, tally.c.span == "year")
        with self._reading() as connection:
            found = {outcome: number for outcome, number in connection.execute(counted)}
            shown = connection.execute(kept).one()
        for outcome, number in zip(_OUTCOMES, shown, strict=True):
            if found.get(outcome, 0) != number:
                yield say(_MISCOUNTED[outcome], shown=number, held=found.get(outcome, 0))


def _meaning(table: Table) -> tuple[Select[Any], dict[str, Callable[[Any], Any]]]:
    """Return the query of a table's rows, and how to read what stands for the ids in them."""
    if table is release:
        return _releases()
    if table is preparation_check:
        return select(table), {"joint": lambda row: row["joint_id"]}
    query = select(table)
    points: dict[str, Callable[[Any], Any]] = {}
    for key, other, column in _POINTS.get(table.name, ()):
        query = query.join(other, other.c.id == table.c[f"{other.name}_id"])
        query = query.add_columns(other.c[column].label(f"_{key}"))
        points[key] = _reader(f"_{key}")
    return query, points


def _releases() -> tuple[Select[Any], dict[str, Callable[[Any], Any]]]:
    query = (
        select(release, job.c.number.label("_job"), joint.c.name.label("_joint"))
        .add_columns(machine.c.name.label("_machine"), stack.c.fingerprint.label("_stack"))
        .join(joint, joint.c.id == release.c.joint_id)
        .join(job, job.c.id == joint.c.job_id)
        .join(machine, machine.c.id == joint.c.machine_id)
        .join(stack, stack.c.id == joint.c.stack_id)
    )
    return query, {
        "joint": lambda row: [row["joint_id"], row["_job"], row["_joint"]],
        "machine": _reader("_machine"),
        "stack": _reader("_stack"),
    }


def _reader(name: str) -> Callable[[Any], Any]:
    return lambda row: row[name]


def _name(table: Table, row: RowMapping) -> str:
    """Return what a row is called for a person."""
    if table is coupon_revision:
        return say(
            "coupon #{number} revision {revision}",
            number=row["_number"],
            revision=row["revision"],
        )
    return say(_ROWS[table.name], number=row["id"])
