"""What coupons were welded for, told from the coupons of their machine, stack and job before them.

It is worked out when a revision is written and kept with it: a later change of an earlier coupon
does not change what this one was welded for.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, Select, bindparam, select

from advisor.coupons.coupon import Coupon
from advisor.coupons.purpose import SERIES, Earlier, purpose_of
from advisor.store.base import is_newest
from advisor.store.schema import coupon_revision
from advisor.weld.setting import NUMBERS, Setting

_R = coupon_revision
#: Ids of stacks asked for at once.
_STACKS = 500
_SAID = (
    *("coupon_id", "machine_id", "stack_id", "job", "made_at", "outcome", "pulses"),
    *NUMBERS,
)
#: Which coupons belong to one series: machine, stack and job.
_Key = tuple[int, int, str]


@dataclass(frozen=True)
class Piece:
    """A coupon as its series sees it."""

    made_at: datetime
    coupon_id: int
    earlier: Earlier


def _alike() -> Select[Any]:
    return select(*(_R.c[name] for name in _SAID)).where(
        _R.c.shop_id == bindparam("shop"),
        _R.c.stack_id.in_(bindparam("stacks", expanding=True)),
        _R.c.made_at >= bindparam("since"),
        _R.c.made_at <= bindparam("until"),
        _R.c.voided == "",
        is_newest(),
    )


_ALIKE = _alike()
_MADE_AT = attrgetter("made_at")


def give_purposes(
    connection: Connection, shop_id: int, new: Sequence[tuple[Coupon, dict[str, Any]]]
) -> None:
    """Write into the columns of new revisions what their coupons were welded for.

    Parameters
    ----------
    connection : Connection
        Inside the transaction that writes the revisions.
    shop_id : int
        The shop.
    new : sequence of (Coupon, dict)
        Each coupon and the columns of its revision, ids and verdict among them, in the order of
        writing. New coupons of one moment came together and are looked at together.
    """
    if not new:
        return
    known = _Known(_stored(connection, shop_id, [values for _, values in new]))
    for _, group in groupby(new, key=lambda each: _came_with(each[1])):
        together = list(group)
        for coupon, values in together:
            known.put(values, coupon.setting)
        for coupon, values in together:
            earlier = known.before(values)
            values["purpose"] = purpose_of(coupon.setting, earlier).value


def _came_with(values: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what is the same for revisions that came together, as an import's; no others are."""
    is_new = values["revision"] == 1
    return values["recorded_at"], None if is_new else (values["coupon_id"], values["revision"])


class _Known:
    """The coupons of some series as they stand while revisions are written.

    Parameters
    ----------
    series : mapping of list of Piece
        The coupons that are stored, in any order.
    """

    def __init__(self, series: Mapping[_Key, list[Piece]]) -> None:
        self._series: dict[_Key, list[Piece]] = defaultdict(list)
        self._standing: dict[int, tuple[_Key, Piece]] = {}
        for key, pieces in series.items():
            self._series[key] = sorted(pieces, key=_MADE_AT)
            self._standing.update((each.coupon_id, (key, each)) for each in pieces)

    def put(self, values: Mapping[str, Any], setting: Setting) -> None:
        """Let a revision stand in place of an earlier one of its coupon."""
        coupon_id = values["coupon_id"]
        if coupon_id in self._standing:
            key, piece = self._standing.pop(coupon_id)
            self._series[key].remove(piece)
        if not values["voided"]:
            key, piece = _key(values), _piece(values, setting)
            insort(self._series[key], piece, key=_MADE_AT)
            self._standing[coupon_id] = key, piece

    def before(self, values: Mapping[str, Any]) -> Iterator[Earlier]:
        """Walk the other coupons of its series that were welded before a coupon."""
        series, made_at = self._series[_key(values)], values["made_at"]
        # What was welded at the same moment was not welded before it, nor was the coupon itself.
        first = bisect_left(series, made_at - SERIES, key=_MADE_AT)
        end = bisect_left(series, made_at, key=_MADE_AT)
        return (each.earlier for each in series[first:end])


def _stored(
    connection: Connection, shop_id: int, new: Sequence[Mapping[str, Any]]
) -> dict[_Key, list[Piece]]:
    """Return what the log holds near new coupons, by series."""
    moments = [values["made_at"] for values in new]
    stacks = sorted({values["stack_id"] for values in new})
    found: dict[_Key, list[Piece]] = defaultdict(list)
    for start in range(0, len(stacks), _STACKS):
        asked = {
            "shop": shop_id,
            "stacks": stacks[start : start + _STACKS],
            "since": min(moments) - SERIES,
            "until": max(moments),
        }
        for row in connection.execute(_ALIKE, asked).mappings():
            found[_key(row)].append(_piece(row, _setting(row)))
    return found


def _key(row: Mapping[Any, Any]) -> _Key:
    return row["machine_id"], row["stack_id"], row["job"]


def _piece(row: Mapping[Any, Any], setting: Setting) -> Piece:
    earlier = Earlier(setting, row["outcome"] == "pass")
    return Piece(row["made_at"], row["coupon_id"], earlier)


def _setting(row: Mapping[Any, Any]) -> Setting:
    return Setting(pulses=row["pulses"], **{name: row[name] for name in NUMBERS})
