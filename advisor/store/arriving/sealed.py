"""Bringing a file in: what is sealed and never changed besides the coupons.

What the log holds already is recognised by all that it says. What comes twice in a file is added
twice where the log has none of it, and not at all where it has one.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Column, insert, select

from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Evidence
from advisor.exchange import records as r
from advisor.exchange.log_file import Placed
from advisor.store import photo_files
from advisor.store.arriving.coupons import CouponArrival
from advisor.store.arriving.shelves import (
    CHANGES,
    CHECKS,
    EVENTS,
    FORETOLD,
    PHOTOS,
    RECOMMENDATIONS,
    RELEASES,
    Shelf,
)
from advisor.store.joint_rows import (
    caps_values,
    checked_values,
    recommendation_points,
    recommendation_values,
    release_points,
    release_values,
)
from advisor.store.schema import (
    change_log,
    coupon,
    coupon_photo,
    machine_event,
    maker_recommendation,
    preparation_check,
    release,
)
from advisor.store.seals import Chain

_Row = tuple[dict[str, Any], dict[str, Any]]


@dataclass(frozen=True)
class _Sealed:
    """One kind: where it lies, by which column and by what it is found, and its row."""

    shelf: Shelf
    column: Column[Any]
    value: Callable[[Any], Any]
    row: Callable[[SealedArrival, Any, Any], _Row]
    key: Callable[[Any], Hashable] = lambda record: record


class SealedArrival(CouponArrival):
    """Events, photos, releases, checks, recommendations and changes."""

    def bring_in_sealed(self, some: Sequence[Placed]) -> None:
        """Add what the log does not hold."""
        kind = _KINDS[type(some[0].record)]
        heres = [self._in_names(placed.record) for placed in some]
        known = self._known(kind, heres)
        chain = Chain.end(self.connection, kind.shelf.table, self.shop_id)
        new = []
        for placed, here in zip(some, heres, strict=True):
            is_known = kind.key(here) in known
            if not is_known and not self._has_file(here):
                continue
            self.count(here, is_new=not is_known)
            if not is_known:
                with self.at(placed):
                    values, points_at = kind.row(self, placed.record, here)
                new.append(chain.seal_row({"shop_id": self.shop_id, **values}, points_at))
        if new:
            self.connection.execute(insert(kind.shelf.table), new)

    def _known(self, kind: _Sealed, heres: Sequence[Any]) -> set[Hashable]:
        """Return the keys of what the log held before and could be some of these."""
        table = kind.shelf.table
        end = self.ends[table.name]
        if not end:
            return set()
        alike = kind.column.in_({kind.value(here) for here in heres})
        which = (alike, table.c.place <= end)
        found = kind.shelf.read(self.connection, self.shop_id, *which)
        return {kind.key(each) for each in found}

    def _in_names(self, record: Any) -> Any:
        """Return a record with the names and numbers of the log."""
        if isinstance(record, r.Event):
            return replace(record, machine=self.names.machines[record.machine])
        if isinstance(record, MakerRecommendation):
            gun = self.names.machines[record.machine]
            return replace(record, machine=gun, stack=record.stack.canonical())
        if isinstance(record, r.Photo | r.CouponForetold):
            return replace(record, coupon=self.numbering.here(record.coupon))
        if isinstance(record, r.JointRelease | r.JointCheck):
            record = self._of_joint_here(record)
        return record

    def _of_joint_here(self, record: r.JointRelease | r.JointCheck) -> Any:
        joint = self.joints[record.job, record.joint].joint
        record = replace(record, job=joint.job, joint=joint.name)
        if isinstance(record, r.JointCheck):
            return record
        evidence = tuple(
            Evidence(self.numbering.here(each.number), each.revision)
            for each in record.release.evidence
        )
        return replace(record, release=replace(record.release, evidence=evidence))

    def _has_file(self, record: Any) -> bool:
        """Whether a photo's file is here already; without it its row is left for another time."""
        if not isinstance(record, r.Photo):
            return True
        trouble = photo_files.trouble(self.log._folder(self.connection), record.sha256)
        self.photos_left_out += bool(trouble)
        return not trouble


def _event(arrival: SealedArrival, in_file: r.Event, here: r.Event) -> _Row:
    values = {
        "machine_id": arrival.machine_ids[in_file.machine],
        "kind": here.what,
        "at": here.at,
        **caps_values(here.electrode),
        "note": here.note,
        "recorded_by": here.by,
        "recorded_at": here.written_at,
    }
    return values, {"machine": here.machine}


def _coupon_id(arrival: SealedArrival, number: int) -> int:
    c = coupon.c
    mine = select(c.id).where(c.shop_id == arrival.shop_id, c.number == number)
    return int(arrival.connection.execute(mine).scalar_one())


def _foretold(arrival: SealedArrival, _: r.CouponForetold, here: r.CouponForetold) -> _Row:
    values = {
        "coupon_id": _coupon_id(arrival, here.coupon),
        **vars(here.foretold),
        "recorded_at": here.at,
    }
    return values, {"number": here.coupon}


def _photo(arrival: SealedArrival, _: r.Photo, here: r.Photo) -> _Row:
    values = {
        "coupon_id": _coupon_id(arrival, here.coupon),
        "sha256": here.sha256,
        "media": here.media,
        "bytes": here.bytes,
        "width_px": here.width_px,
        "height_px": here.height_px,
        "recorded_by": here.by,
        "recorded_at": here.at,
    }
    return values, {"number": here.coupon}


def _release(arrival: SealedArrival, in_file: r.JointRelease, here: r.JointRelease) -> _Row:
    joint = arrival.joints[in_file.job, in_file.joint]
    arrival.joint_to_release(joint)
    values = {"joint_id": joint.id, **release_values(here.release)}
    return values, release_points(joint.id, joint.joint)


def _check(arrival: SealedArrival, in_file: r.JointCheck, here: r.JointCheck) -> _Row:
    joint = arrival.joints[in_file.job, in_file.joint]
    return {"joint_id": joint.id, **checked_values(here.checked)}, {"joint": joint.id}


def _recommendation(
    arrival: SealedArrival, in_file: MakerRecommendation, here: MakerRecommendation
) -> _Row:
    ids = {
        "machine_id": arrival.machine_ids[in_file.machine],
        "stack_id": arrival.log._stack_ids(arrival.connection, [here.stack])[0],
    }
    return {**ids, **recommendation_values(here)}, recommendation_points(here, here.machine)


def _change(_: SealedArrival, __: r.Change, here: r.Change) -> _Row:
    return dict(vars(here)), {}


_KINDS: dict[type, _Sealed] = {
    r.Event: _Sealed(EVENTS, machine_event.c.recorded_at, lambda e: e.written_at, _event),
    r.CouponForetold: _Sealed(
        FORETOLD,
        coupon.c.number,
        lambda each: each.coupon,
        _foretold,
        # One coupon was foretold once.
        lambda each: each.coupon,
    ),
    r.Photo: _Sealed(
        PHOTOS,
        coupon_photo.c.sha256,
        lambda photo: photo.sha256,
        _photo,
        # One photo stands once with a coupon, whoever added it.
        lambda photo: (photo.coupon, photo.sha256),
    ),
    r.JointRelease: _Sealed(
        RELEASES, release.c.released_at, lambda each: each.release.at, _release
    ),
    r.JointCheck: _Sealed(
        CHECKS, preparation_check.c.recorded_at, lambda each: each.checked.at, _check
    ),
    MakerRecommendation: _Sealed(
        RECOMMENDATIONS, maker_recommendation.c.recorded_at, lambda each: each.at, _recommendation
    ),
    r.Change: _Sealed(CHANGES, change_log.c.at, lambda each: each.at, _change),
}
