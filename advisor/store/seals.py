"""The chain of hashes over rows that are never changed: a changed or removed row shows.

Each sealed table has one chain a shop. A row's seal is the SHA-256 over its table, its place in
the chain, the seal of the row before and all that the row says, with names and fingerprints in
place of the ids of the rows it points at, so that a changed name or stack shows as well.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Float, Table, bindparam, insert, select

from advisor.store.schema import SEALED
from advisor.store.texts import check_row

_FLOATS = {
    table.name: frozenset(c.name for c in table.c if isinstance(c.type, Float)) for table in SEALED
}
#: Columns that are not part of what a row says; purpose and causes follow from what coupons say.
_SILENT = frozenset({"id", "shop_id", "place", "seal", "purpose", "causes"})


def seal_of(table: str, place: int, before: str, says: Mapping[str, Any]) -> str:
    """Return the seal of a row.

    Parameters
    ----------
    table : str
        Name of its table.
    place : int
        Its place in the chain of its shop, 1 for the first.
    before : str
        Seal of the row before; empty for the first.
    says : mapping
        What the row says, as `plain` gives it.

    Returns
    -------
    str
        SHA-256 as 64 hexadecimal digits.
    """
    text = json.dumps([table, place, before, says], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def plain(table: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of a row as they will be read back, without ids, place and seal."""
    found = {}
    for name, value in values.items():
        if name in _SILENT or name.endswith("_id"):
            continue
        if isinstance(value, datetime):
            value = value.astimezone(UTC).isoformat(timespec="microseconds")
        elif value is not None and name in _FLOATS[table.name]:
            value = float(value)
        found[name] = value
    return found


def newest(connection: Connection, tables: Sequence[Table], shop_id: int) -> str:
    """Return what stays the same as long as a shop appends nothing to some sealed tables."""
    return " ".join(Chain.end(connection, each, shop_id).seal for each in tables)


class Chain:
    """The end of one shop's chain in one table, inside a transaction that holds the shop.

    Parameters
    ----------
    table : Table
        A sealed table.
    place : int
        Place of the last row; 0 where there is none.
    seal : str
        Its seal; empty where there is none.
    """

    def __init__(self, table: Table, place: int, seal: str) -> None:
        self.table, self.place, self.seal = table, place, seal

    @classmethod
    def end(cls, connection: Connection, table: Table, shop_id: int) -> Chain:
        """Read the last row of a shop."""
        found = connection.execute(_ENDS[table.name], {"shop": shop_id}).one_or_none()
        return cls(table, *(found or (0, "")))

    def seal_row(self, values: dict[str, Any], points_at: Mapping[str, Any]) -> dict[str, Any]:
        """Add place and seal to the columns of the next row.

        Parameters
        ----------
        values : dict
            Columns of the new row; changed in place.
        points_at : mapping
            What stands for the ids in it: names, fingerprints, seals.

        Raises
        ------
        InputError
            A text in it cannot be stored.
        """
        check_row(self.table, values)
        says = {**plain(self.table, values), **points_at}
        self.place += 1
        self.seal = seal_of(self.table.name, self.place, self.seal, says)
        values.update(place=self.place, seal=self.seal)
        return values


def append(
    connection: Connection,
    table: Table,
    shop_id: int,
    values: Mapping[str, Any],
    points_at: Mapping[str, Any],
) -> int:
    """Append one sealed row and return its id."""
    chain = Chain.end(connection, table, shop_id)
    row = chain.seal_row({"shop_id": shop_id, **values}, points_at)
    return int(connection.execute(insert(table).values(**row).returning(table.c.id)).scalar_one())


def _ends(tables: Sequence[Table]) -> dict[str, Any]:
    return {
        table.name: select(table.c.place, table.c.seal)
        .where(table.c.shop_id == bindparam("shop"))
        .order_by(table.c.place.desc())
        .limit(1)
        for table in tables
    }


_ENDS = _ends(SEALED)
