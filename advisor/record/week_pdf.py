"""The summary of a week on paper: what needs attention first, then the tables."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from itertools import groupby

from advisor.language import msg, say, say_number
from advisor.record import week
from advisor.record.paper import FONT, Paper, fitting
from advisor.record.text import one_line
from advisor.record.week import (
    SECTIONS,
    Attention,
    DriftLine,
    RateLine,
    WeekSummary,
    percent,
    target_words,
)
from advisor.record.wording import NOT_SAID, log_seal_words, moment_by, printed_words

LOSSY_HERE = msg(
    "Some letters cannot be shown in this print: they are written with their nearest letter or "
    "as ¤. The CSV file of this summary holds them as typed."
)
NOTHING_EVIDENT = msg(
    "Nothing evident. Where coupons are few, that does not say that all is well: the tables show "
    "how much is known."
)
_WEEK, _PERIOD = msg("Week {first} to {last}"), msg("Period {first} to {last}")
_RATES = (
    msg("Purpose"),
    msg("Passed"),
    msg("Raw rate"),
    msg("Pooled rate"),
    msg("Open"),
    msg("Standing"),
)
_RELEASES = (
    msg("Job"),
    msg("Joint"),
    msg("Machine"),
    msg("Released"),
    msg("Proven setting and its coupons"),
    msg("State"),
)
_DRESSING = (
    msg("Machine"),
    msg("Welds since dressing"),
    msg("Dress after"),
    msg("State"),
    msg("In words"),
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
                line = one_line(row[0], 40)
                self.paragraph(
                    say("In full, {line}, {column}: {text}", line=line, column=name, text=cell)
                )


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
    at = f"{printing.moment(printing.at)} {printing.zone}"
    days = {"first": summary.since, "last": summary.last_day}
    paper = _WeekPaper(
        printing.shop,
        say(_WEEK if summary.is_week else _PERIOD, **days),
        say("Printed {moment} · {software}", moment=at, software=printing.software),
        printing.at,
        mark=printing.mark,
    )
    paper.add_page()
    _opening(paper, summary)
    _attention(paper, week.attention(summary))
    _tables(paper, summary)
    if paper.is_lossy:
        paper.heading(say("About this print"))
        paper.paragraph(say(LOSSY_HERE))
    _sentences(paper, say("State of the log"), log_seal_words(summary.seal))
    return bytes(paper.output())


def _opening(paper: Paper, summary: WeekSummary) -> None:
    printing = summary.printing
    week = summary.is_week
    paper.title_line(say("Summary of the week") if week else say("Summary of the period"))
    places = [text for text in (printing.shop, printing.place) if text.strip()]
    paper.pair(say("Shop, place"), ", ".join(places))
    paper.pair(say("Period"), _period(summary))
    paper.pair(say("Printed"), printed_words(printing))
    paper.pair(say("Coupons"), _counts(summary), bold=True)
    paper.pair(say("Releases"), _release_counts(summary), bold=True)
    target = say(
        "{target} of judged coupons pass; {interval}",
        target=target_words(summary.target),
        interval=summary.interval,
    )
    paper.pair(say("Target"), target)


def _period(summary: WeekSummary) -> str:
    period = say_number(
        "{first:%A} {first} to {last:%A} {last}, {number} day; days begin at midnight UTC",
        "{first:%A} {first} to {last:%A} {last}, {number} days; days begin at midnight UTC",
        summary.days,
        first=summary.since,
        last=summary.last_day,
    )
    return (
        period
        if summary.is_over
        else say("{period}; not over when this was printed", period=period)
    )


def _counts(summary: WeekSummary) -> str:
    counts = summary.counts
    return say(
        "{welded} welded: {passed} pass, {failed} fail, {open} not yet judged, {voided} voided",
        welded=counts.welded,
        passed=counts.passed,
        failed=counts.failed,
        open=counts.open,
        voided=counts.voided,
    )


def _release_counts(summary: WeekSummary) -> str:
    stand = sum(each.stands for each in summary.releases)
    return say(
        "{count}: {stand} stand, {again} open again",
        count=len(summary.releases),
        stand=stand,
        again=len(summary.releases) - stand,
    )


def _attention(paper: Paper, found: Sequence[Attention]) -> None:
    paper.heading(say("Needs attention"))
    if not found:
        paper.paragraph(say(NOTHING_EVIDENT), bold=True)
        return
    for kind, group in groupby(found, key=lambda each: each.kind):
        items = list(group)
        lines = [_line(paper, each) for each in items[:_A_KIND]]
        if len(items) > _A_KIND:
            more = say(
                "and {more} more, {all} in all: see {part}.",
                more=len(items) - _A_KIND,
                all=len(items),
                part=say(SECTIONS[items[0].section].title),
            )
            lines.append(more)
        paper.pair(say(kind), lines)


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
        paper.heading(say(section.title))
        if getattr(summary, name):
            draw[name](paper, summary)
        else:
            paper.paragraph(say(section.nothing))


def _rates(paper: _WeekPaper, summary: WeekSummary) -> None:
    groups: dict[str, list[RateLine]] = {}
    for each in summary.rates:
        groups.setdefault(each.group, []).append(each)
    head = [say(each) for each in _RATES]
    for group, lines in groups.items():
        paper.rows((group, *head), [_rate(each) for each in lines], (27, 25, 18, 36, 36, 11, 27))
    paper.paragraph(
        say(
            "In brackets: {interval}. A rate from few coupons says little: read the interval "
            "before the rate. A pooled rate leans on the rest of its group, the more the fewer its "
            "coupons. Open: not yet judged.",
            interval=summary.interval,
        )
    )


def _rate(line: RateLine) -> tuple[str, ...]:
    return (
        line.name,
        line.purpose,
        say("{passed} of {judged}", passed=line.passed, judged=line.judged),
        _share(line.raw_rate, line.raw_low, line.raw_high),
        _share(line.pooled_rate, line.pooled_low, line.pooled_high),
        f"{line.open}",
        line.standing,
    )


def _share(rate: float | None, low: float | None, high: float | None) -> str:
    if rate is None or low is None or high is None:
        return "–"
    return say(
        "{rate} ({low:.1f} to {high})", rate=percent(rate), low=100 * low, high=percent(high)
    )


def _failures(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [(each.cause, f"{each.count}", percent(each.share)) for each in summary.failures]
    head = (say("Cause"), say("Coupons"), say("Share of failing coupons"))
    paper.rows(head, rows, (110, 25, 45))
    paper.paragraph(
        say("One coupon may have several causes: shares may add up to more than 100 %.")
    )


def _drift(paper: _WeekPaper, summary: WeekSummary) -> None:
    for each in summary.drift:
        _drift_of(paper, each)


def _drift_of(paper: Paper, line: DriftLine) -> None:
    state = say("DRIFTING") if line.is_drifting else say("not evidently drifting")
    paper.band(line.name, state, bad=line.is_drifting)
    if len(line.name) > _BAND:
        paper.pair(say("Machine"), line.name)
    paper.paragraph(line.headline, bold=True)
    for each in line.sentences:
        paper.paragraph(each)


def _releases(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (
            each.job,
            each.joint,
            each.machine,
            moment_by(summary.printing, each.at, each.by),
            each.proven,
            each.state,
        )
        for each in summary.releases
    ]
    paper.rows([say(each) for each in _RELEASES], rows, (20, 28, 22, 28, 50, 32))


def _voided(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (
            f"#{each.number}",
            moment_by(summary.printing, each.at, each.by),
            each.why,
            "; ".join(each.used_in_release) or say("no release"),
        )
        for each in summary.voided
    ]
    head = (say("Coupon"), say("Voided"), say("Why"), say("Was evidence of"))
    paper.rows(head, rows, (18, 32, 70, 60))


def _missing(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [(e.job, e.joint, e.state, e.headline, e.detail) for e in summary.missing]
    head = (say("Job"), say("Joint"), say("State"), say("What"), say("In detail"))
    paper.rows(head, rows, (22, 34, 20, 34, 70))


def _expiring(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (each.job, each.joint, summary.printing.moment(each.expires_at), ", ".join(each.coupons))
        for each in summary.expiring
    ]
    head = (say("Job"), say("Joint"), say("Expire"), say("Coupons"))
    paper.rows(head, rows, (30, 50, 32, 68))


def _dressing(paper: _WeekPaper, summary: WeekSummary) -> None:
    rows = [
        (
            each.machine,
            say(NOT_SAID) if each.welds is None else f"{each.welds}",
            say(NOT_SAID) if each.limit is None else f"{each.limit}",
            say("OVERDUE") if each.overdue else say("not overdue"),
            each.words,
        )
        for each in summary.dressing
    ]
    paper.rows([say(each) for each in _DRESSING], rows, (36, 26, 24, 24, 70))


def _honesty(paper: _WeekPaper, summary: WeekSummary) -> None:
    for each in summary.honesty:
        paper.paragraph(each)


def _sentences(paper: Paper, heading: str, lines: Sequence[str]) -> None:
    if lines:
        paper.heading(heading)
    for each in lines:
        paper.paragraph(each)
