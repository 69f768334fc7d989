"""The kinds of record, in the order of a file: each stands behind all that it points at."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.errors import InputError
from advisor.exchange import coupon_kinds as c
from advisor.exchange import records as r
from advisor.exchange import shop_kinds as s
from advisor.exchange.fields import Field, shown
from advisor.language import msg, say
from advisor.weld.machine import Machine

_WORDS = {
    "person": msg("person"),
    "machine": msg("machine"),
    "machine_event": msg("machine event"),
    "adhesive": msg("adhesive"),
    "rules": msg("rules"),
    "job": msg("job"),
    "joint": msg("joint"),
    "usual_joint": msg("usual joint"),
    "coupon_revision": msg("coupon revision"),
    "foretold": msg("foretold"),
    "photo": msg("photo"),
    "release": msg("release"),
    "preparation_check": msg("preparation check"),
    "maker_recommendation": msg("maker recommendation"),
    "adhesive_clock": msg("adhesive clock"),
    "clock_reading": msg("clock reading"),
    "change": msg("change"),
}


@dataclass(frozen=True)
class Kind:
    """One kind of record.

    Parameters
    ----------
    name : str
        What it is called in a file.
    record : type
        Its class.
    fields : tuple of Field
        Its columns, in order.
    flat, build : callable
        From a record to values by the names of the fields, and back.
    later : bool
        Whether files of an earlier format do not have it.
    """

    name: str
    record: type
    fields: tuple[Field, ...]
    flat: Callable[[Any], Mapping[str, Any]]
    build: Callable[[Mapping[str, Any]], r.Record]
    later: bool = False

    @property
    def words(self) -> str:
        """Return the name as words."""
        return say(_WORDS[self.name])

    @property
    def columns(self) -> list[str]:
        """Return the names of its fields."""
        return [field.name for field in self.fields]

    def plain(self, record: r.Record) -> dict[str, Any]:
        """Return a record as JSON has it, by the names of its fields."""
        values = self.flat(record)
        return {field.name: field.write(values[field.name]) for field in self.fields}

    def cells(self, record: r.Record) -> list[str]:
        """Return a record as texts in the order of its fields, not yet guarded."""
        values = self.flat(record)
        return [field.cell(values[field.name]) for field in self.fields]

    def from_plain(self, plain: Mapping[str, object], *, earlier: bool = False) -> r.Record:
        """Read a record as JSON has it; `InputError` names the first field that cannot be used."""
        self.check_columns(plain, earlier=earlier)
        return self.build({f.name: f.read(plain[f.name]) for f in self._there(plain)})

    def from_cells(self, cells: Mapping[str, str]) -> r.Record:
        """Read a record from texts by column name, without their guards."""
        return self.build({f.name: f.read_cell(cells[f.name]) for f in self._there(cells)})

    def _there(self, found: Collection[str]) -> Iterator[Field]:
        return (field for field in self.fields if not field.later or field.name in found)

    def check_columns(self, found: Collection[str], *, earlier: bool = False) -> None:
        """Refuse columns that are not all of this kind's and no others.

        Parameters
        ----------
        found : collection of str
            Names of the columns.
        earlier : bool
            Whether the file is of an earlier format, which need not have all of them.
        """
        wanted = [f.name for f in self.fields if not (earlier and f.later)]
        lacking = [name for name in wanted if name not in found]
        if lacking:
            raise InputError(
                say(
                    "{column} of the {kind} is missing; every one is written",
                    column=lacking[0],
                    kind=self.words,
                )
            )
        unknown = sorted(set(found) - set(self.columns))
        if unknown:
            raise InputError(
                say(
                    "a {kind} has no {column}; take it away",
                    kind=self.words,
                    column=shown(unknown[0]),
                )
            )


def _kind(
    name: str,
    record: type,
    fields: tuple[Field, ...],
    build: Callable[[Mapping[str, Any]], r.Record],
    flat: Callable[[Any], Mapping[str, Any]] = vars,
) -> Kind:
    return Kind(name, record, fields, flat, build)


REVISIONS = _kind(
    "coupon_revision", r.CouponRevision, c.REVISION, c.revision_from, c.revision_values
)
KINDS = (
    _kind("person", r.Person, s.PERSON, s.person_from),
    _kind("machine", Machine, s.MACHINE, s.machine_from),
    _kind("machine_event", r.Event, s.EVENT, s.event_from, s.event_values),
    _kind("adhesive", Adhesive, s.ADHESIVE, s.adhesive_from, s.adhesive_values),
    _kind("rules", r.RulesVersion, s.RULES, s.rules_from, s.rules_values),
    _kind("job", r.Job, s.JOB, s.job_from),
    _kind("joint", Joint, s.JOINT, s.joint_from, s.joint_values),
    _kind("usual_joint", r.UsualJoint, s.USUAL_JOINT, s.usual_from, s.usual_values),
    REVISIONS,
    Kind("foretold", r.CouponForetold, c.FORETOLD, c.foretold_values, c.foretold_from, later=True),
    _kind("photo", r.Photo, c.PHOTO, c.photo_from, c.photo_values),
    _kind("release", r.JointRelease, c.RELEASE, c.release_from, c.release_values),
    _kind("preparation_check", r.JointCheck, c.CHECK, c.check_from, c.check_values),
    _kind(
        "maker_recommendation",
        MakerRecommendation,
        c.RECOMMENDATION,
        c.recommendation_from,
        c.recommendation_values,
    ),
    _kind("adhesive_clock", r.Clock, s.CLOCK, s.clock_from),
    _kind("clock_reading", r.ClockReading, s.READING, s.reading_from, s.reading_values),
    _kind("change", r.Change, s.CHANGE, s.change_from),
)
KIND_OF = {kind.record: kind for kind in KINDS}
KIND_NAMED = {kind.name: kind for kind in KINDS}
