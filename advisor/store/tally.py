"""Coupons counted by day, month and year of welding, kept with every revision that is written.

A page adds up a few counts instead of a hundred thousand coupons: whole years, then whole months,
then days. All moments are in UTC.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, timedelta
from typing import Any

from sqlalchemy import Connection, Date, Subquery, bindparam, select, text, union_all

from advisor.coupons.causes import Cause
from advisor.store.schema import COUNTED, tally

_KEY = ("shop_id", "span", "starts", "welder_id", "machine_id", "stack_id", "purpose")
_SPANS = ("day", "month", "year")
#: Ending of an insert that adds to counts which are there already.
ADD_UP = f"ON CONFLICT ({', '.join(_KEY)}) DO UPDATE SET " + ", ".join(
    f"{name} = tally.{name} + excluded.{name}" for name in COUNTED
)
_ADD = text(
    f"INSERT INTO tally ({', '.join((*_KEY, *COUNTED))}) "  # noqa: S608  (names of this file)
    f"VALUES ({', '.join(f':{name}' for name in (*_KEY, *COUNTED))}) {ADD_UP}"
).bindparams(bindparam("starts", type_=Date))


def _starts(day: date, span: str) -> date:
    if span == "day":
        return day
    return day.replace(day=1) if span == "month" else day.replace(month=1, day=1)


def _amounts(revision: Mapping[str, Any]) -> tuple[int, ...]:
    """Return what is counted of a revision, in the order of `COUNTED`."""
    outcome, why = revision["outcome"], revision["causes"].split()
    verdict = (outcome == word for word in ("pass", "fail", "open"))
    failed_by = (cause.value in why for cause in Cause)
    return tuple(map(int, (*verdict, revision["expulsion"], *failed_by)))


def count(
    connection: Connection,
    new: Iterable[Mapping[str, Any]],
    old: Iterable[Mapping[str, Any]] = (),
) -> None:
    """Count revisions that hold now, and take back those they replace.

    Parameters
    ----------
    connection : Connection
        Inside the transaction that writes the revisions.
    new, old : iterable of mapping
        Columns of revisions; voided ones count nothing.
    """
    changed = changes(new, old)
    if changed:
        connection.execute(_ADD, changed)


def changes(
    new: Iterable[Mapping[str, Any]], old: Iterable[Mapping[str, Any]] = ()
) -> list[dict[str, Any]]:
    """Return what is to be added to the counts, a row for each; parameters as for `count`."""
    sums: dict[tuple[Any, ...], list[int]] = defaultdict(lambda: [0] * len(COUNTED))
    for sign, revisions in ((1, new), (-1, old)):
        alike = Counter(_alike(each) for each in revisions if not each["voided"])
        for (shop_id, day, *ids, amounts), times in alike.items():
            for span in _SPANS:
                into = sums[(shop_id, span, _starts(day, span), *ids)]
                for n, amount in enumerate(amounts):
                    into[n] += sign * times * amount
    return [
        dict(zip((*_KEY, *COUNTED), (*key, *found), strict=True))
        for key, found in sums.items()
        if any(found)
    ]


def _alike(revision: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return shop, day, welder, machine, stack, purpose and what is counted of a revision."""
    ids = (revision["welder_id"], revision["machine_id"], revision["stack_id"])
    day = revision["made_at"].astimezone(UTC).date()
    return (revision["shop_id"], day, *ids, revision["purpose"], _amounts(revision))


def between(shop_id: int, since: date | None, until: date | None) -> Subquery:
    """Return the counts of a shop that stand for each day from `since` to before `until` once.

    Parameters
    ----------
    shop_id : int
        The shop.
    since, until : date or None
        Days in UTC; None for no end.
    """
    if since is None and until is None:
        ways = [("year", date.min, date.max)]
    else:
        ways = parts(since or date.min, until or date(9999, 1, 1))
    # One range of the key each: joined by "or" they would be read through all of the shop's counts.
    each = [
        select(tally).where(
            tally.c.shop_id == shop_id,
            tally.c.span == span,
            tally.c.starts >= low,
            tally.c.starts < high,
        )
        for span, low, high in ways or [("day", date.max, date.min)]
    ]
    return union_all(*each).subquery("counted")


def parts(
    low: date, high: date, spans: Sequence[str] = ("year", "month", "day")
) -> list[tuple[str, date, date]]:
    """Split the days from `low` to before `high` into whole years, whole months and days."""
    if low >= high:
        return []
    span, finer = spans[0], spans[1:]
    if not finer:
        return [(span, low, high)]
    up, down = _next_start(low, span), _starts(high, span)
    if up >= down:
        return parts(low, high, finer)
    return [*parts(low, up, finer), (span, up, down), *parts(down, high, finer)]


def _next_start(day: date, span: str) -> date:
    """Return the first day of a span that begins on `day` or later."""
    start = _starts(day, span)
    if start == day:
        return day
    if span == "year":
        return date(day.year + 1, 1, 1)
    return (start + timedelta(days=32)).replace(day=1)
