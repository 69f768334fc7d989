"""A hand-out for a class: the question, room for the guess, the pictures, the point."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from advisor.language import say
from advisor.record.paper import Paper
from advisor.teaching.words import CALCULATED
from advisor.weld.cautions import AT_THE_MACHINE, FOR_A_COUPON

_LINE_MM, _GAP_MM = 9.0, 4.0
#: Width of the table's first column, which names the quantities, over that of another.
_FIRST = 1.4


@dataclass(frozen=True)
class HandOut:
    """What is printed; every text as it is read.

    Parameters
    ----------
    title, question : str
        What it is about; the question may be empty.
    welds : tuple of str
        What is welded, one line each.
    heads : tuple of str
        Heads of the table, one a column.
    lines : tuple of tuple of str
        Its lines; the first text of each names the quantity.
    point : tuple of str
        What is to be learned; may be empty.
    sources : str
        Where that is from.
    made_at : datetime
        When it was made, with its time zone.
    """

    title: str
    question: str
    welds: tuple[str, ...]
    heads: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]
    point: tuple[str, ...]
    sources: str
    made_at: datetime


def hand_out_pdf(sheet: HandOut, pictures: Sequence[bytes], mark: str = "") -> bytes:
    """Return a hand-out as a PDF document of A4 pages.

    Parameters
    ----------
    sheet : HandOut
        What is printed.
    pictures : sequence of bytes
        One PNG a weld.
    mark : str
        What stands over every page of an invented shop or a practice copy.
    """
    made = sheet.made_at.strftime("%Y-%m-%d %H:%M")
    foot = say("Printed {moment}", moment=made)
    paper = Paper(say("For a class"), sheet.title, foot, sheet.made_at, mark=mark)
    paper.add_page()
    paper.title_line(sheet.title)
    if sheet.question:
        _question(paper, sheet.question)
    _welds(paper, sheet, pictures)
    paper.heading(say("Figures"))
    paper.grid(sheet.heads, sheet.lines, [_FIRST, *[1.0] * (len(sheet.heads) - 1)])
    if sheet.point:
        paper.heading(say("The point"))
        for sentence in sheet.point:
            paper.paragraph(sentence)
    paper.paragraph(sheet.sources)
    paper.heading(say("What this is"))
    paper.paragraph(say(CALCULATED), bold=True)
    paper.paragraph(say(FOR_A_COUPON))
    for caution in AT_THE_MACHINE:
        paper.paragraph(say(caution))
    return bytes(paper.output())


def _question(paper: Paper, question: str) -> None:
    paper.paragraph(question, bold=True)
    paper.ln(2)
    paper.paragraph(say("My guess, and why:"))
    for _ in range(2):
        paper.ln(_LINE_MM)
        paper.line(paper.l_margin, paper.get_y(), paper.w - paper.r_margin, paper.get_y())
    paper.ln(_GAP_MM)


def _welds(paper: Paper, sheet: HandOut, pictures: Sequence[bytes]) -> None:
    paper.heading(say("The welds"))
    for line in sheet.welds:
        paper.paragraph(line)
    paper.ln(_GAP_MM)
    width = (paper.epw - _GAP_MM * (len(pictures) - 1)) / max(2, len(pictures))
    left, top, tallest = paper.l_margin, paper.get_y(), 0.0
    for number, picture in enumerate(pictures):
        placed = paper.image(io.BytesIO(picture), left + number * (width + _GAP_MM), top, width)
        tallest = max(tallest, placed.rendered_height)
    paper.set_y(top + tallest + _GAP_MM)
