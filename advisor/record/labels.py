"""Labels for coupons on the bench: the number in letters and as a QR code, and what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

import segno
from fpdf import FPDF

from advisor.coupons.joint import LoggedCoupon
from advisor.errors import InputError
from advisor.language import figure, say
from advisor.record.paper import FONT, fitting
from advisor.record.text import ENCODING, printable

#: A4, by definition. [mm]
_PAGE_MM = (210.0, 297.0)
_INSET_MM, _QR_MM, _LINE_MM = 5.0, 22.0, 3.6
#: Empty modules that a QR code wants round it (from memory).
_QUIET = 4


@dataclass(frozen=True)
class LabelGrid:
    """Labels on a sheet of A4; the defaults are a usual grid (common practice, no source).

    Parameters
    ----------
    columns, rows : int
        Labels across and down.
    width_mm, height_mm : float
        Size of one label. [mm]
    left_mm, top_mm : float
        From the sheet's edge to the first label. [mm]
    across_mm, down_mm : float
        Gaps between labels. [mm]
    """

    columns: int = 3
    rows: int = 8
    width_mm: float = 70.0
    height_mm: float = 37.0
    left_mm: float = 0.0
    top_mm: float = 0.5
    across_mm: float = 0.0
    down_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.columns < 1 or self.rows < 1 or self.width_mm < 60 or self.height_mm < 30:
            raise InputError(
                say(
                    "a grid of {columns} by {rows} labels of {width:g} x {height:g} mm; it needs a "
                    "label at least, of 60 x 30 mm or more",
                    columns=self.columns,
                    rows=self.rows,
                    width=self.width_mm,
                    height=self.height_mm,
                )
            )
        across = self.left_mm + self.columns * (self.width_mm + self.across_mm) - self.across_mm
        down = self.top_mm + self.rows * (self.height_mm + self.down_mm) - self.down_mm
        if min(self.left_mm, self.top_mm) < 0 or across > _PAGE_MM[0] or down > _PAGE_MM[1]:
            raise InputError(
                say(
                    "the grid needs {across:g} x {down:g} mm; A4 has {width:g} x {height:g} mm: "
                    "fewer or smaller labels",
                    across=across,
                    down=down,
                    width=_PAGE_MM[0],
                    height=_PAGE_MM[1],
                )
            )

    @property
    def on_a_sheet(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Return the upper left corner of a label on its sheet. [mm].

        Parameters
        ----------
        place : int
            0 for the first label, then along the rows.
        """
        row, column = divmod(place % self.on_a_sheet, self.columns)
        return (
            self.left_mm + column * (self.width_mm + self.across_mm),
            self.top_mm + row * (self.height_mm + self.down_mm),
        )

    def words(self) -> str:
        """Return the grid in words, for choosing the label sheet."""
        return say(
            "A4, {columns} x {rows} labels of {width:g} x {height:g} mm, printed at 100 %",
            columns=self.columns,
            rows=self.rows,
            width=self.width_mm,
            height=self.height_mm,
        )


DEFAULT_GRID = LabelGrid()


def labels_pdf(
    coupons: Sequence[LoggedCoupon],
    made_at: datetime,
    *,
    first: int = 1,
    grid: LabelGrid = DEFAULT_GRID,
    mark: str = "",
) -> bytes:
    """Return a label for each coupon as a PDF document.

    Parameters
    ----------
    coupons : sequence of LoggedCoupon
        The coupons, in the order of their labels.
    made_at : datetime
        Moment of printing, with its time zone: times are written in that zone.
    first : int
        Place of the first label on the first sheet, 1 at the upper left, then along the rows.
    grid : LabelGrid
        The label sheet.
    mark : str
        What is no coupon of a shop says so on its label, by the first word of this.

    Raises
    ------
    InputError
        No coupon, or no such place on the sheet.
    """
    if not coupons:
        raise InputError(say("there is no coupon to print a label for; log one first"))
    if not 1 <= first <= grid.on_a_sheet:
        raise InputError(
            say(
                "first label is {first}; the sheet has places 1 to {last}",
                first=first,
                last=grid.on_a_sheet,
            )
        )
    pdf = FPDF(format="A4")
    pdf.core_fonts_encoding = ENCODING
    pdf.set_creation_date(made_at)
    pdf.set_title(printable(say("Coupon labels")))
    pdf.set_auto_page_break(False)
    pdf.c_margin = 0
    pdf.add_page()
    for place, logged in enumerate(coupons, start=first - 1):
        if place and place % grid.on_a_sheet == 0:
            pdf.add_page()
        _label(pdf, grid, grid.corner_mm(place), logged, label_lines(logged, made_at))
        if mark:
            _mark(pdf, grid, grid.corner_mm(place), mark.split()[0].rstrip(":"))
    return bytes(pdf.output())


def label_lines(logged: LoggedCoupon, made_at: datetime) -> list[str]:
    """Return what stands on a label below its number.

    Parameters
    ----------
    logged : LoggedCoupon
        The coupon.
    made_at : datetime
        Moment of printing; the coupon's time is written in its zone.
    """
    coupon = logged.coupon
    stack = coupon.stack
    glued = dict.fromkeys(bond.adhesive for bond in stack.bonds if bond.is_bonded)
    return [
        " + ".join(figure(t, "g") for t in stack.thicknesses_mm) + " mm",
        " / ".join(dict.fromkeys(bond.state.label for bond in stack.bonds)),
        *([" / ".join(glued)] if glued else []),
        coupon.machine,
        figure(coupon.made_at.astimezone(made_at.tzinfo), "%Y-%m-%d %H:%M"),
        say("Job {job}", job=coupon.job) if coupon.job else say("no job"),
    ]


def _label(
    pdf: FPDF,
    grid: LabelGrid,
    corner_mm: tuple[float, float],
    logged: LoggedCoupon,
    lines: Sequence[str],
) -> None:
    x, y = corner_mm[0] + _INSET_MM, corner_mm[1] + _INSET_MM
    width = grid.width_mm - 2 * _INSET_MM - _QR_MM
    pdf.set_xy(x, y)
    pdf.set_font(FONT, "B", 18)
    pdf.cell(width, 7, f"#{logged.number}")
    pdf.set_font(FONT, "", 8)
    for place, text in enumerate(lines):
        pdf.set_xy(x, y + 7.5 + place * _LINE_MM)
        pdf.cell(width, _LINE_MM, fitting(pdf, text, width))
    _draw_qr(pdf, qr_rows(logged.number), corner_mm[0] + grid.width_mm - _QR_MM - 2, y)


def _mark(pdf: FPDF, grid: LabelGrid, corner_mm: tuple[float, float], word: str) -> None:
    """Write below the QR code that the coupon is no shop's."""
    pdf.set_xy(corner_mm[0] + grid.width_mm - _QR_MM - 2, corner_mm[1] + _INSET_MM + _QR_MM)
    pdf.set_font(FONT, "B", 8)
    pdf.cell(_QR_MM, _LINE_MM, fitting(pdf, word, _QR_MM), align="C")


def qr_rows(number: int) -> tuple[tuple[int, ...], ...]:
    """Return the QR code of a coupon's number, 1 for a dark module.

    Parameters
    ----------
    number : int
        Number of the coupon; its digits alone are in the code.

    Returns
    -------
    tuple of tuple of int, square
        The modules without the empty margin.
    """
    code = segno.make_qr(str(number), error="m")
    return tuple(tuple(int(each) & 1 for each in row) for row in code.matrix)


def _draw_qr(pdf: FPDF, rows: Sequence[Sequence[int]], x: float, y: float) -> None:
    step = _QR_MM / (len(rows) + 2 * _QUIET)
    pdf.set_fill_color(0, 0, 0)
    for down, row in enumerate(rows):
        across = _QUIET
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                top = y + (down + _QUIET) * step
                pdf.rect(x + across * step, top, length * step, step, style="F")
            across += length
