"""The summary of a week on paper: what needs attention first, then the tables."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from itertools import groupby

from advisor.record import week
from advisor.record.paper import FONT, Paper, fitting
from advisor.record.text import MARK, one_line
from advisor.record.week import SECTIONS, Attention, DriftLine, RateLine, WeekSummary, percent
from advisor.record.wording import NOT_SAID, log_seal_words

LOSSY_HERE = (
    "Some letters cannot be shown in this print: they are written with their nearest letter or "
    f"as {MARK}. The CSV file of this summary holds them as typed."
)
NOTHING_EVIDENT = (
    "Nothing evident. Where coupons are few, that does not say that all is well: the tables show "
    "how much is known."
)
#: Longer texts are cut in a table, lest a row be higher than a page, and written out below it.
_CUT = 240
#: Lengths of name and reason among what needs attention, two lines of print at most, and how many
#: of a kind: so all kinds fit on page 1. [mm]
_WHAT_MM, _WHY_MM, _A_KIND = 66.0, 140.0, 3
#: A longer name may be cut in its band and is written out below it.
_BAND = 40
_LINE_MM = 4.2
_GREY = (232, 232, 232)


class _WeekPaper(Paper):
    """Pages with tables whose texts wrap."""

    def rows(
        self, head: Sequence[str], rows: Iterable[Sequence[str]], widths: Sequence[float]
    ) -> None:
        """Draw a table as `grid` does, with long texts wrapped, the longest written out below."""
        kept = [tuple(row) for row in rows]
        self.grid(head, kept, widths, _CUT)
        for row in kept:
            self._written_out(head, row)

    def _written_out(self, head: Sequence[str], row: Sequence[str]) -> None:
        for name, cell in zip(head, row, strict=True):
            if one_line(cell, _CUT) != one_line(cell, sys.maxsize):
                self.paragraph(f"In full, {one_line(row[0], 40)}, {name}: {cell}")


def week_pdf(summary: WeekSummary) -> bytes:
    """Return a summary as a PDF document of A4 pages.

    Parameters
    ----------
    summary : WeekSummary
        The summary.

    Returns
    -------
    bytes
        Page 1 says what needs attention, with at most three lines of a kind and how many more
        there are; tables hold all. Every page names shop, period, time, mark and page n of m;
        letters the print cannot show are replaced visibly, see `text.printable`.
    """
    printing = summary.printing
    paper = _WeekPaper(
        printing.shop,
        f"{_noun(summary)} {summary.since} to {summary.last_day}",
        f"Printed {printing.moment(printing.at)} {printing.zone} · {printing.software}",
        printing.at,
        mark=printing.mark,
    )
    paper.add_page()
    _opening(paper, summary)
    _attention(paper, week.attention(summary))
    _tables(paper, summary)
    if paper.is_lossy:
        paper.heading("About this print")
        paper.paragraph(LOSSY_HERE)
    _sentences(paper, "State of the log", log_seal_words(summary.seal))
    return bytes(paper.output())


def _noun(summary: WeekSummary) -> str:
    return "Week" if summary.is_week else "Period"


def _opening(paper: Paper, summary: WeekSummary) -> None:
    printing = summary.printing
    paper.title_line(f"Summary of the {_noun(summary).lower()}")
    paper.pair("Shop, place", ", ".join(t for t in (printing.shop, printing.place) if t.strip()))
    paper.pair("Period", _period(summary))
    made = f"{printing.moment(printing.at)} by {printing.by or NOT_SAID}"
    paper.pair("Printed", f"{made}; all times {printing.zone}")
    paper.pair("Coupons", _counts(summary), bold=True)
    stand = sum(each.stands for each in summary.releases)
    again = len(summary.releases) - stand
    paper.pair("Releases", f"{len(summary.releases)}: {stand} stand, {again} open again", bold=True)
    paper.pair("Target", f"{percent(summary.target)} of judged coupons pass; {summary.interval}")


def _period(summary: WeekSummary) -> str:
    days = "1 day" if summary.days == 1 else f"{summary.days} days"
    first, last = f"{summary.since:%A} {summary.since}", f"{summary.last_day:%A} {summary.last_day}"
    over = "" if summary.is_over else "; not over when this was printed"
    return f"{first} to {last}, {days}; days begin at midnight UTC{over}"


def _counts(summary: WeekSummary) -> str:
    counts = summary.counts
    return (
        f"{counts.welded} welded: {counts.passed} pass, {counts.failed} fail, {counts.open} not "
        f"yet judged, {counts.voided} voided"
    )


def _attention(paper: Paper, found: Sequence[Attention]) -> None:
    paper.heading("Needs attention")
    if not found:
        paper.paragraph(NOTHING_EVIDENT, bold=True)
        return
    for kind, group in groupby(found, key=lambda each: each.kind):
        items = list(group)
        lines = [_line(paper, each) for each in items[:_A_KIND]]
        if len(items) > _A_KIND:
            title = SECTIONS[items[0].section].title
            lines.append(f"and {len(items) - _A_KIND} more, {len(items)} in all: see {title}.")
        paper.pair(kind, lines)


def _line(paper: Paper, each: Attention) -> str:
    paper.set_font(FONT, "", 9)
    what = fitting(paper, each.what, _WHAT_MM)
    return f"{what}: {fitting(paper, each.why, _WHY_MM)}"


def _tables(paper: _WeekPaper, summary: WeekSummary) -> None:
    draw = {
        "rates": _rates,
        "failures": _failures,
        "drift": _drift,
        "releases": _releases,
        "voided": _voided,
        "missing": _missing,
        "expiring": _expiring,
        "dressing": _dressing,
        "honesty": _honesty,
    }
    for name, section in SECTIONS.items():
        paper.heading(section.title)
        if getattr(summary, name):
            draw[name](paper, summary)
        else:
            paper.paragraph(section.nothing)


def _rates(paper: _WeekPaper, summary: WeekSummary) -> None:
    groups: dict[str, list[RateLine]] = {}
    for each in summary.rates:
        groups.setdefault(each.group, []).append(each)
    for group, lines in groups.items():
        head = (group, "Purpose", "Passed", "Raw rate", "Pooled rate", "Open", "Standing")
        paper.rows(head, [_rate(each) for each in lines], (30, 22, 16, 37, 37, 11, 27))
    paper.paragraph(
        f"In brackets: {summary.interval}. A rate from few coupons says little: read the interval "
        "before the rate. A pooled rate leans on the rest of its group, the more the fewer its "
        "coupons. Open: not yet judged."
    )


def _rate(line: RateLine) -> tuple[str, ...]:
    return (
        line.name,
        line.purpose,
        f"{line.passed} of {line.judged}",
        _share(line.raw_rate, line.raw_low, line.raw_high),
        _share(line.pooled_rate, line.pooled_low, line.pooled_high),
        f"{line.open}",
        line.standing,
    )


def _share(rate: float | None, low: float | None, high: float | None) -> str:
    if rate is None or low is None or high is None:
        return "–"
    return f"{percent(rate)} ({100 * low:.1f} to {percent(high)})"


def _failures(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [(each.cause, f"{each.count}", percent(each.share)) for each in summary.failures]
    paper.rows(("Cause", "Coupons", "Share of failing coupons"), rows, (110, 25, 45))
    paper.paragraph("One coupon may have several causes: shares may add up to more than 100 %.")


def _drift(paper: _WeekPaper, summary: WeekSummary) -> None:
    for each in summary.drift:
        _drift_of(paper, each)


def _drift_of(paper: Paper, line: DriftLine) -> None:
    state = "DRIFTING" if line.is_drifting else "not evidently drifting"
    paper.band(line.name, state, bad=line.is_drifting)
    if len(line.name) > _BAND:
        paper.pair("Machine", line.name)
    paper.paragraph(line.headline, bold=True)
    for each in line.sentences:
        paper.paragraph(each)


def _releases(paper: _WeekPaper, summary: WeekSummary) -> None:
    head = ("Job", "Joint", "Machine", "Released", "Proven setting and its coupons", "State")
    rows = [
        (
            each.job,
            each.joint,
            each.machine,
            f"{summary.printing.moment(each.at)} by {each.by}",
            each.proven,
            each.state,
        )
        for each in summary.releases
    ]
    paper.rows(head, rows, (20, 28, 22, 28, 50, 32))


def _voided(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (
            f"#{each.number}",
            f"{summary.printing.moment(each.at)} by {each.by}",
            each.why,
            "; ".join(each.used_in_release) or "no release",
        )
        for each in summary.voided
    ]
    paper.rows(("Coupon", "Voided", "Why", "Was evidence of"), rows, (18, 32, 70, 60))


def _missing(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [(e.job, e.joint, e.state, e.headline, e.detail) for e in summary.missing]
    paper.rows(("Job", "Joint", "State", "What", "In detail"), rows, (22, 34, 20, 34, 70))


def _expiring(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (each.job, each.joint, summary.printing.moment(each.expires_at), ", ".join(each.coupons))
        for each in summary.expiring
    ]
    paper.rows(("Job", "Joint", "Expire", "Coupons"), rows, (30, 50, 32, 68))


def _dressing(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (
            each.machine,
            NOT_SAID if each.welds is None else f"{each.welds}",
            NOT_SAID if each.limit is None else f"{each.limit}",
            "OVERDUE" if each.overdue else "not overdue",
            each.words,
        )
        for each in summary.dressing
    ]
    head = ("Machine", "Welds since dressing", "Dress after", "State", "In words")
    paper.rows(head, rows, (36, 26, 24, 24, 70))


def _honesty(paper: _WeekPaper, summary: WeekSummary) -> None:
    for each in summary.honesty:
        paper.paragraph(each)


def _sentences(paper: Paper, heading: str, lines: Sequence[str]) -> None:
    if lines:
        paper.heading(heading)
    for each in lines:
        paper.paragraph(each)
