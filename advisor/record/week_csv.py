"""The summary of a week as one CSV in long form: a row a quantity.

It is English with decimal points, whoever asks. A summary holds sentences as they were said when it
was put together: put it together in English for this file.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime
from typing import TypeAlias

from advisor.csv_cells import guarded_row
from advisor.language import ENGLISH, speaking
from advisor.record import week
from advisor.record.week import SECTIONS, WeekSummary
from advisor.weld.cautions import OUTRANKS

COLUMNS = (
    "section",
    "item",
    "group",
    "name",
    "quantity",
    "value",
    "unit",
    "low",
    "high",
    "count",
    "note",
    "mark",
)
#: Cells of a row by column; those that are not named are empty.
Cells: TypeAlias = dict[str, object]


def week_csv(summary: WeekSummary) -> bytes:
    """Return a summary as CSV, UTF-8, one quantity a row.

    Parameters
    ----------
    summary : WeekSummary
        The summary.

    Returns
    -------
    bytes
        Rows of `COLUMNS`, guarded against spreadsheets that calculate:

        - *section*: ``about`` (shop, period, mark; the first rows), ``coupons`` (counts),
          ``attention``, then the fields of `WeekSummary` that hold lines.
        - *item*: number of the line in its section, from 1; rows with the same one are one line.
        - *group*, *name*: what it is about: a kind and a name, a job and a joint, a machine and
          its electrode.
        - *quantity*, *value*, *unit*: what is said of it. A share is from 0 to 1, a moment in ISO
          8601 with its zone.
        - *low*, *high*: ends of the interval.
        - *count*: coupons behind the value.
        - *note*: purpose, reason or evidence, in words. A setting stands in one cell with the
          coupons that prove it.
        - *mark*: in every row what says that this is no record of a shop; empty when it is one.

        An empty section has one row without an item, whose note says so. Names such as ``NA`` are
        text; pandas reads them so with ``keep_default_na=False``.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, restval="")
    writer.writeheader()
    with speaking(ENGLISH):
        mark = {"mark": summary.printing.mark}
        for cells in _rows(summary):
            shown = {name: "" if cell is None else cell for name, cell in cells.items()}
            writer.writerow(guarded_row(shown | mark))
    return text.getvalue().encode("utf-8", "backslashreplace")


def _rows(summary: WeekSummary) -> Iterator[Cells]:
    yield from ({"section": "about", **each} for each in _about(summary))
    yield from ({"section": "coupons", **each} for each in _counts(summary))
    yield from _numbered("attention", _attention(summary), "Nothing evident needs attention.")
    lines = {
        "rates": _rates(summary),
        "failures": _failures(summary),
        "drift": _drift(summary),
        "releases": _releases(summary),
        "voided": _voided(summary),
        "missing": _missing(summary),
        "expiring": _expiring(summary),
        "dressing": _dressing(summary),
        "honesty": ([_told("sentence", each)] for each in summary.honesty),
    }
    for name, section in SECTIONS.items():
        yield from _numbered(name, lines[name], section.nothing)


def _numbered(section: str, lines: Iterator[list[Cells]], nothing: str) -> Iterator[Cells]:
    """Give the rows of each line its number; no lines are one row that says so."""
    item = 0
    for item, rows in enumerate(lines, start=1):
        yield from ({"section": section, "item": item, **each} for each in rows)
    if not item:
        yield {"section": section, "quantity": "nothing", "note": nothing}


def _told(quantity: str, value: object, unit: str = "", **more: object) -> Cells:
    # As Python writes it, a float is read back without loss.
    return {"quantity": quantity, "value": value, "unit": unit, **more}


def _about(summary: WeekSummary) -> list[Cells]:
    printing = summary.printing
    return [
        _told("shop", printing.shop),
        _told("since", summary.since, "date", note="first day; days begin at midnight UTC"),
        _told("until", summary.until, "date", note="the day after the last"),
        _told("mark", printing.mark, note="" if printing.mark else "none: a record of the shop"),
        _told("place", printing.place),
        _told("days", summary.days, "days", note="" if summary.is_over else "not over yet"),
        _told("printed at", printing.at.isoformat(), "time"),
        _told("printed by", printing.by),
        _told("software", printing.software),
        _told("target pass rate", summary.target, "share"),
        _told("interval", summary.interval),
        _told("seal of the log", summary.seal),
        _told("precedence", OUTRANKS),
    ]


def _counts(summary: WeekSummary) -> list[Cells]:
    counts = summary.counts
    values = {
        "welded": counts.welded,
        "passed": counts.passed,
        "failed": counts.failed,
        "not yet judged": counts.open,
        "voided": counts.voided,
    }
    return [_told(name, value, "coupons", count=value) for name, value in values.items()]


def _attention(summary: WeekSummary) -> Iterator[list[Cells]]:
    for each in week.attention(summary):
        yield [{"group": each.kind, "name": each.what, **_told("why", each.why)}]


def _rates(summary: WeekSummary) -> Iterator[list[Cells]]:
    for rate in summary.rates:
        raw = {"low": rate.raw_low, "high": rate.raw_high, "count": rate.judged}
        pooled = {"low": rate.pooled_low, "high": rate.pooled_high, "count": rate.judged}
        rows = [
            _told("raw pass rate", rate.raw_rate, "share", **raw),
            _told("pooled pass rate", rate.pooled_rate, "share", **pooled),
            _told("passed", rate.passed, "coupons", count=rate.passed),
            _told("failed", rate.failed, "coupons", count=rate.failed),
            _told("not yet judged", rate.open, "coupons", count=rate.open),
            _told("standing", rate.standing),
        ]
        yield [{"group": rate.group, "name": rate.name, "note": rate.purpose, **e} for e in rows]


def _failures(summary: WeekSummary) -> Iterator[list[Cells]]:
    for each in summary.failures:
        share = _told("share of failing coupons", each.share, "share", count=each.count)
        yield [{"name": each.cause, **share}]


def _drift(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.drift:
        state = "drifting" if line.is_drifting else "not evidently drifting"
        rows = [_told("state", state), _told("reading", line.headline)]
        rows += [_told("sentence", each) for each in line.sentences]
        yield [{"group": line.machine, "name": line.electrode, **each} for each in rows]


def _releases(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.releases:
        state = "stands" if line.stands else "open again"
        rows = [
            _told("state", state, note="; ".join(line.reopened)),
            _told("released by", line.by),
            _told("released at", _moment(summary, line.at), "time"),
            _told("machine", line.machine),
            _told("coupons", "; ".join(line.coupons), count=len(line.coupons)),
            _told("setting with its coupons", line.proven),
        ]
        yield [{"group": line.job, "name": line.joint, **each} for each in rows]


def _voided(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.voided:
        rows = [
            _told("voided because", line.why),
            _told("voided by", line.by),
            _told("voided at", _moment(summary, line.at), "time"),
            _told("used in release", "; ".join(line.used_in_release)),
        ]
        yield [{"group": "Coupon", "name": f"#{line.number}", **each} for each in rows]


def _missing(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.missing:
        missing = _told("missing", line.headline, note=line.detail)
        rows = [_told("state", line.state), missing]
        yield [{"group": line.job, "name": line.joint, **each} for each in rows]


def _expiring(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.expiring:
        coupons = "; ".join(line.coupons)
        expires = _moment(summary, line.expires_at)
        told = _told("expires at", expires, "time", count=len(line.coupons), note=coupons)
        yield [{"group": line.job, "name": line.joint, **told}]


def _dressing(summary: WeekSummary) -> Iterator[list[Cells]]:
    for line in summary.dressing:
        state = "overdue" if line.overdue else "not overdue"
        rows = [
            _told("welds since dressing", line.welds, "welds"),
            _told("welds allowed between dressings", line.limit, "welds"),
            _told("state", state, note=line.words),
        ]
        yield [{"group": "Machine", "name": line.machine, **each} for each in rows]


def _moment(summary: WeekSummary, at: datetime) -> str:
    return at.astimezone(summary.printing.at.tzinfo).isoformat()
