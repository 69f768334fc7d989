"""Where each kind of record lies in the tables, and how it is read from there, a few at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Column, ColumnElement, Connection, RowMapping, Select, Table, select

from advisor.bonding.clock import Reading
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.recommendation import MakerRecommendation
from advisor.exchange import records as r
from advisor.people.roles import Role
from advisor.store import rows
from advisor.store.joint_rows import (
    caps_from,
    checked_from,
    joint_from,
    release_from,
    usual_from,
)
from advisor.store.schema import (
    access,
    adhesive,
    adhesive_clock,
    change_log,
    clock_reading,
    coupon,
    coupon_photo,
    foretold,
    job,
    joint,
    joint_template,
    machine,
    machine_event,
    maker_recommendation,
    preparation_check,
    release,
    stack,
    welder,
)
from advisor.store.schema import rules as rules_table

#: Rows read at once.
AT_ONCE = 1000


@dataclass(frozen=True)
class Shelf:
    """One kind of record in its tables.

    Parameters
    ----------
    table : Table
        The table that has a row for each.
    query : Select
        Its rows of all shops, with what stands for the ids in them.
    order : Column
        What grows from row to row.
    record : callable
        From a row to a record.
    """

    table: Table
    query: Select[Any]
    order: Column[int]
    record: Callable[[RowMapping], r.Record]

    def read(
        self, connection: Connection, shop_id: int, *which: ColumnElement[bool]
    ) -> list[r.Record]:
        """Return some records of a shop."""
        query = self.query.where(self.table.c.shop_id == shop_id, *which).order_by(self.order)
        return [self.record(row) for row in connection.execute(query).mappings()]

    def walk(self, connection: Connection, shop_id: int) -> Iterator[r.Record]:
        """Walk all records of a shop in their order, a few at a time."""
        mine = self.query.where(self.table.c.shop_id == shop_id).order_by(self.order)
        last = -1
        while True:
            some = mine.where(self.order > last).limit(AT_ONCE)
            found = connection.execute(some).mappings().all()
            yield from map(self.record, found)
            if len(found) < AT_ONCE:
                return
            last = found[-1]["order"]


def _shelf(
    table: Table,
    query: Select[Any],
    record: Callable[[RowMapping], r.Record],
    order: str = "id",
) -> Shelf:
    return Shelf(table, query.add_columns(table.c[order].label("order")), table.c[order], record)


def _person(row: RowMapping) -> r.Person:
    return r.Person(row["name"], Role.of(row["role"]), row["left_at"])


def _event(row: RowMapping) -> r.Event:
    said = (row["note"], row["recorded_by"], row["recorded_at"])
    return r.Event(row["machine"], row["kind"], row["at"], caps_from(row), *said)


def _rules(row: RowMapping) -> r.RulesVersion:
    rules = rows.rules_from(row["body"])
    return r.RulesVersion(row["place"], rules, row["recorded_by"], row["recorded_at"])


def _job(row: RowMapping) -> r.Job:
    return r.Job(row["number"], row["opened_at"], row["closed_at"])


def _usual(row: RowMapping) -> r.UsualJoint:
    return r.UsualJoint(usual_from(row))


def revision_from(row: RowMapping, logged: LoggedCoupon) -> r.CouponRevision:
    """Return a revision of a coupon from its row, with the number of its rules, and its coupon."""
    return r.CouponRevision(
        logged.number,
        logged.revision,
        logged.coupon,
        logged.verdict,
        row["rules_number"],
        logged.voided,
        row["why"],
        logged.origin,
        row["recorded_by"],
        row["recorded_at"],
    )


def _foretold(row: RowMapping) -> r.CouponForetold:
    names = ("chance_sound", "chance_expulsion", "coupons_known")
    said = Foretold(*(row[name] for name in names))
    return r.CouponForetold(row["number"], said, row["recorded_at"])


def _photo(row: RowMapping) -> r.Photo:
    names = ("sha256", "media", "bytes", "width_px", "height_px", "recorded_by", "recorded_at")
    return r.Photo(row["number"], *(row[name] for name in names))


def _release(row: RowMapping) -> r.JointRelease:
    return r.JointRelease(row["job"], row["joint"], release_from(row))


def _check(row: RowMapping) -> r.JointCheck:
    return r.JointCheck(row["job"], row["joint"], checked_from(row))


def _recommendation(row: RowMapping) -> MakerRecommendation:
    names = ("document", "page", "settings", "recorded_by", "recorded_at")
    laid = rows.stack_from(row["body"], turned_over=False)
    return MakerRecommendation(row["machine"], laid, *(row[name] for name in names))


def _clock(row: RowMapping) -> r.Clock:
    names = ("used_for", "mixed_at", "started_by", "stopped_at", "stopped_by")
    return r.Clock(row["id"], row["adhesive"], *(row[name] for name in names))


def _reading(row: RowMapping) -> r.ClockReading:
    reading = Reading(row["at"], row["degC"])
    return r.ClockReading(row["adhesive_clock_id"], reading, row["recorded_by"])


def _change(row: RowMapping) -> r.Change:
    return r.Change(row["at"], row["who"], row["what"], row["before"], row["after"])


def _with(table: Table, *others: tuple[Table, str, str]) -> Select[Any]:
    """Return the rows of a table with a column of each table they point at, under a name."""
    query = select(table)
    for other, column, name in others:
        query = query.join(other, other.c.id == table.c[f"{other.name}_id"])
        query = query.add_columns(other.c[column].label(name))
    return query


_MACHINE, _BODY = (machine, "name", "machine"), (stack, "body", "body")
_OF_JOINT = (job.c.number.label("job"), joint.c.name.label("joint"))


def _of_joint(table: Table) -> Select[Any]:
    query = select(table, *_OF_JOINT).join(joint, joint.c.id == table.c.joint_id)
    return query.join(job, job.c.id == joint.c.job_id)


JOINTS = _shelf(joint, _with(joint, (job, "number", "job"), _MACHINE, _BODY), joint_from)
RULES = _shelf(rules_table, select(rules_table), _rules, "place")
EVENTS = _shelf(machine_event, _with(machine_event, _MACHINE), _event, "place")
FORETOLD = _shelf(foretold, _with(foretold, (coupon, "number", "number")), _foretold, "place")
PHOTOS = _shelf(coupon_photo, _with(coupon_photo, (coupon, "number", "number")), _photo, "place")
RELEASES = _shelf(release, _of_joint(release), _release, "place")
CHECKS = _shelf(preparation_check, _of_joint(preparation_check), _check, "place")
RECOMMENDATIONS = _shelf(
    maker_recommendation, _with(maker_recommendation, _MACHINE, _BODY), _recommendation, "place"
)
CHANGES = _shelf(change_log, select(change_log), _change, "place")
CLOCKS = _shelf(adhesive_clock, _with(adhesive_clock, (adhesive, "name", "adhesive")), _clock)
READINGS = _shelf(clock_reading, select(clock_reading), _reading)
#: Every kind by its name, save the revisions of coupons.
SHELVES = {
    "person": _shelf(
        welder,
        select(welder, access.c.role, access.c.left_at).join(access),
        _person,
    ),
    "machine": _shelf(machine, select(machine), rows.machine_from),
    "machine_event": EVENTS,
    "adhesive": _shelf(adhesive, select(adhesive), rows.adhesive_from),
    "rules": RULES,
    "job": _shelf(job, select(job), _job),
    "joint": JOINTS,
    "usual_joint": _shelf(joint_template, _with(joint_template, _MACHINE, _BODY), _usual),
    "foretold": FORETOLD,
    "photo": PHOTOS,
    "release": RELEASES,
    "preparation_check": CHECKS,
    "maker_recommendation": RECOMMENDATIONS,
    "adhesive_clock": CLOCKS,
    "clock_reading": READINGS,
    "change": CHANGES,
}
