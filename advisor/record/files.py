"""The record of a job as JSON and as CSV, units in every key and column name.

Both are English with decimal points, whoever asks. A record holds sentences on coverage and checks
as they were said when it was put together: put it together in English for these files.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from advisor.coupons.coverage import Coverage
from advisor.coupons.flat import COLUMNS, SHEETS, to_row
from advisor.csv_cells import guarded_row
from advisor.language import ENGLISH, speaking
from advisor.record import wording
from advisor.record.entries import CouponEntry, JointEntry, PhotoEntry
from advisor.record.job_record import JobRecord
from advisor.record.rules_words import rules_version, rules_words
from advisor.weld.cautions import OUTRANKS

#: Changes when a key is renamed or goes.
FORMAT, FORMAT_VERSION = "weld job record", 1
_FACTS = (
    "verdict",
    "reasons",
    "judged_by",
    "voided",
    "origin",
    "revision",
    "recorded_by",
    "recorded_at",
    "photos_sha256",
    "record_job",
    "joints",
    "joint_states",
    "released_by",
    "released_at",
    "shop",
    "place",
    "printed_at",
    "software",
    "invented_demo",
    "practice_copy",
)
#: Columns of the CSV: the coupon's own, then what the record adds.
CSV_COLUMNS = (
    "number",
    *COLUMNS,
    *(f"interface{n}_{part}_mm" for n in range(1, SHEETS) for part in ("mean", "minimum")),
    *_FACTS,
)


def to_json(record: JobRecord) -> bytes:
    """Return all of a record as JSON, UTF-8.

    Parameters
    ----------
    record : JobRecord
        The record.

    Returns
    -------
    bytes
        Numbers as numbers with their unit in the key, words as their codes, times in ISO 8601.
    """
    with speaking(ENGLISH):
        content = _content(record)
    text = json.dumps(content, ensure_ascii=False, indent=1, default=_time)
    # A lone surrogate is no UTF-8; as an escape it is still the same JSON text.
    return text.encode("utf-8", "backslashreplace")


def _content(record: JobRecord) -> dict[str, Any]:
    printing = record.printing
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "invented_demo": printing.is_demo,
        "practice_copy": printing.is_copy,
        "shop": printing.shop,
        "place": printing.place,
        "job": printing.job,
        "printed_at": printing.at,
        "printed_by": printing.by,
        "software": printing.software,
        "precedence": OUTRANKS,
        "log_seal": record.log_seal,
        "rules": [
            {
                "version": rules_version(each),
                "holds_when_printed": each == record.rules,
                "sentences": rules_words(each),
                "judging": asdict(each.judging),
                "coverage": asdict(each.coverage),
            }
            for each in record.rules_used()
        ],
        "joints": [_joint(each, record) for each in record.joints],
        "coupons": [_coupon(each, record) for each in record.coupons],
        "machines": [asdict(each) for each in record.machines],
        "adhesives": [asdict(each) for each in record.adhesives],
        "adhesive_clocks": [
            {**asdict(each), "state_when_printed": asdict(each.state(printing.at))}
            for each in record.clocks
        ],
    }


def _time(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"a record holds no {type(value).__name__}")


def _joint(entry: JointEntry, record: JobRecord) -> dict[str, Any]:
    return {
        **asdict(entry.joint),
        "state": wording.state_words(entry),
        "is_released": entry.is_released,
        "held_because": wording.held_words(entry),
        "coverage": _coverage(entry.coverage),
        "release": asdict(entry.release) if entry.release else None,
        "reopened": entry.reopened,
        "checks": [
            {
                "text": each.check.english,
                "measured": each.text,
                "ok": each.is_right,
                "by": each.checked.by if each.checked else None,
                "at": each.checked.at if each.checked else None,
            }
            for each in entry.checks
        ],
        "maker_recommendation": asdict(entry.maker) if entry.maker else None,
        "maker_sentences": wording.maker_words(entry, record.printing),
    }


def _coverage(coverage: Coverage) -> dict[str, Any]:
    """Return the coverage with its coupons by number: they stand in the list of coupons."""
    return {
        "state": coverage.state,
        "headline": coverage.headline,
        "detail": coverage.detail,
        "passes": coverage.passes,
        "wanted": coverage.wanted,
        "evidence": [each.number for each in coverage.evidence],
        "setting": asdict(coverage.setting) if coverage.setting else None,
        "nearest": coverage.nearest.number if coverage.nearest else None,
        "differences": [asdict(each) for each in coverage.differences],
    }


def _coupon(entry: CouponEntry, record: JobRecord) -> dict[str, Any]:
    logged = entry.logged
    return {
        "number": logged.number,
        "revision": logged.revision,
        **asdict(logged.coupon),
        "interfaces": [asdict(each) for each in entry.interfaces(record.rules)],
        "verdict": logged.verdict.outcome,
        "reasons": [asdict(each) for each in logged.verdict.reasons],
        "judged_by": wording.judged_words(entry, record.rules),
        "evidence_for": [each.joint.name for each in record.joints_of(logged.number)],
        "voided": logged.voided,
        "origin": logged.origin,
        "recorded_by": entry.recorded_by,
        "recorded_at": entry.recorded_at,
        "corrected_why": entry.why,
        "photos": [_photo(each) for each in entry.photos],
    }


def _photo(entry: PhotoEntry) -> dict[str, Any]:
    """Return what a record says of a photo; the picture itself is in the print and in the log."""
    found = asdict(entry)
    del found["copy"]
    return found | {"is_lost": entry.is_lost}


def to_csv(record: JobRecord) -> bytes:
    """Return the coupons of a record as CSV, UTF-8: one row a coupon.

    Parameters
    ----------
    record : JobRecord
        The record. A joint without a coupon has no row; JSON and print hold it.

    Returns
    -------
    bytes
        The columns of `CSV_COLUMNS`, guarded against spreadsheets that calculate; the coupon's own
        read back without loss (`importing.read_table`).
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, CSV_COLUMNS)
    writer.writeheader()
    with speaking(ENGLISH):
        for each in record.coupons:
            writer.writerow(guarded_row(_row(each, record)))
    return text.getvalue().encode("utf-8", "backslashreplace")


def _row(entry: CouponEntry, record: JobRecord) -> dict[str, str]:
    logged, printing = entry.logged, record.printing
    row = {"number": str(logged.number), **to_row(logged.coupon)}
    for line in entry.interfaces(record.rules):
        for part, value in (("mean", line.mean_mm), ("minimum", line.minimum_mm)):
            row[f"interface{line.number}_{part}_mm"] = "" if value is None else repr(value)
    return row | {
        "verdict": logged.verdict.outcome.value,
        "reasons": "; ".join(reason.text for reason in logged.verdict.reasons),
        "judged_by": wording.judged_words(entry, record.rules),
        "voided": logged.voided,
        "origin": logged.origin,
        "revision": str(logged.revision),
        "recorded_by": entry.recorded_by,
        "recorded_at": entry.recorded_at.isoformat() if entry.recorded_at else "",
        "photos_sha256": "; ".join(each.sha256 for each in entry.photos),
        "record_job": printing.job,
        **_joint_cells(record.joints_of(logged.number)),
        "shop": printing.shop,
        "place": printing.place,
        "printed_at": printing.at.isoformat(),
        "software": printing.software,
        "invented_demo": "yes" if printing.is_demo else "no",
        "practice_copy": "yes" if printing.is_copy else "no",
    }


def _joint_cells(joints: tuple[JointEntry, ...]) -> dict[str, str]:
    releases = [each.release for each in joints]
    return {
        "joints": "; ".join(each.joint.name for each in joints),
        "joint_states": "; ".join(wording.state_words(each) for each in joints),
        "released_by": "; ".join(each.by if each else "" for each in releases),
        "released_at": "; ".join(each.at.isoformat() if each else "" for each in releases),
    }
