"""What a file of a whole log says of itself before its first record."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from advisor.errors import InputError
from advisor.exchange.fields import Flag, Moment, Text, Whole, shown
from advisor.exchange.kinds import KINDS
from advisor.language import say

#: What the first record of a file is called, the version that is written, and those that are read:
#: version 2 added what was foretold and when caps are to be dressed. Choice of this project.
LOG, FORMAT_VERSION = "log", 2
#: Versions that are read. Choice of this project.
READ_VERSIONS = (1, 2)
_FIELDS = (
    Text("shop"),
    Flag("invented_demo"),
    Flag("practice_copy"),
    Moment("written_at"),
    Text("program_version"),
    Whole("coupons"),
)
_COUNTS = tuple(Whole(kind.name) for kind in KINDS)
_NAMES = ("kind", "format_version", *(field.name for field in _FIELDS), "records")


@dataclass(frozen=True)
class Header:
    """What stands at the beginning of a file.

    Parameters
    ----------
    shop : str
        Name of the shop whose log it is.
    invented_demo, practice_copy : bool
        Whether its coupons are invented, or made for practice.
    written_at : datetime
        When it was written.
    program_version : str
        Version of the program that wrote it.
    coupons : int
        Number of coupons; they are numbered from 1 without a gap.
    records : mapping of str to int
        Number of records of each kind.
    is_earlier : bool
        Whether the file is of an earlier format than the one that is written.
    """

    shop: str
    invented_demo: bool
    practice_copy: bool
    written_at: datetime
    program_version: str
    coupons: int
    records: Mapping[str, int]
    is_earlier: bool = False

    def plain(self) -> dict[str, Any]:
        """Return the header as JSON has it."""
        says = {field.name: field.write(getattr(self, field.name)) for field in _FIELDS}
        records = {kind.name: self.records.get(kind.name, 0) for kind in KINDS}
        return {"kind": LOG, "format_version": FORMAT_VERSION, **says, "records": records}


def header_from(plain: object) -> Header:
    """Read a header.

    Parameters
    ----------
    plain : object
        As JSON has it.

    Raises
    ------
    InputError
        It is no header of a whole log, or one of another version.
    """
    if not isinstance(plain, dict) or plain.get("kind") != LOG:
        raise InputError(
            say(
                "the file does not begin as the whole log of a shop does; choose a file that this "
                "program has exported as JSON Lines or as CSV (zip)"
            )
        )
    version: Any = plain.get("format_version")
    _check_version(version)
    _check_names(plain, _NAMES)
    records = plain["records"]
    if not isinstance(records, dict):
        raise InputError(say("records must name the number of records of each kind"))
    is_earlier = version < FORMAT_VERSION
    later = {kind.name for kind in KINDS if kind.later} if is_earlier else set()
    _check_names(records, [field.name for field in _COUNTS], later)
    said = {field.name: field.read(plain[field.name]) for field in _FIELDS}
    counts = {field.name: field.read(records.get(field.name, 0)) for field in _COUNTS}
    return Header(**said, records=counts, is_earlier=is_earlier)


def _check_version(version: object) -> None:
    if version not in READ_VERSIONS or isinstance(version, bool | float):
        raise InputError(
            say(
                "the file is of format version {version}; this program reads versions {first} to "
                "{last}: export it again with a program of this version",
                version=shown(version),
                first=READ_VERSIONS[0],
                last=READ_VERSIONS[-1],
            )
        )


def _check_names(
    found: Mapping[str, object], wanted: Sequence[str], may_lack: Collection[str] = ()
) -> None:
    lacking = [name for name in wanted if name not in found and name not in may_lack]
    if lacking:
        raise InputError(
            say("the first record has no {field}; the file is not whole", field=lacking[0])
        )
    unknown = sorted(set(found) - set(wanted))
    if unknown:
        raise InputError(
            say("the first record has {field}, which is not known", field=shown(unknown[0]))
        )
