"""A4 pages with a running head and foot, and the few forms of text that a record is made of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

from fpdf import FPDF
from fpdf.enums import TableCellFillMode, XPos, YPos
from fpdf.fonts import FontFace

from advisor.language import language, say
from advisor.record.text import ENCODING, is_lossy, one_line, printable
from advisor.weld.cautions import OUTRANKS

FONT = "helvetica"
#: Stands for the number of pages until it is known, as long as three digits; no user can type it,
#: see `text.printable`.
_PAGES = "\x1cnn"
_MARGIN_MM, _FOOT_MM, _LABEL_MM, _LINE_MM = 15.0, 24.0, 33.0, 4.2
_LABEL_SIZES = (9, 8, 7)
_GREY, _RED, _BLACK = (232, 232, 232), (150, 20, 20), (0, 0, 0)


def fitting(pdf: FPDF, text: str, width_mm: float) -> str:
    """Return as much of a text as fits one line in the document's font of the moment.

    Parameters
    ----------
    pdf : FPDF
        The document.
    text : str
        Any text.
    width_mm : float
        Length of the line. [mm]
    """
    line = one_line(text, 120)
    while pdf.get_string_width(line) > width_mm and len(line) > 1:
        line = one_line(line, len(line) - 1)
    return line


class Paper(FPDF):
    """A document of A4 pages.

    Parameters
    ----------
    left, right : str
        Running head: whose document it is, and which.
    foot : str
        Running foot, beside the page number.
    made_at : datetime
        When it was made, with its time zone.
    mark : str
        What stands over every page that is no record of a shop; empty when it is one.
    """

    def __init__(self, left: str, right: str, foot: str, made_at: datetime, *, mark: str) -> None:
        super().__init__(format="A4")
        self.core_fonts_encoding = ENCODING
        self.alias_nb_pages(_PAGES)
        self.set_creation_date(made_at)
        self.set_title(printable(right))
        self.set_author(printable(left))
        self.set_lang(language())
        self.set_margins(_MARGIN_MM, 12, _MARGIN_MM)
        self.set_auto_page_break(True, _FOOT_MM)
        self._left, self._right, self._foot = left, right, foot
        self._mark = mark
        self.is_lossy = is_lossy(left) or is_lossy(right)

    @contextmanager
    def _full_width(self) -> Iterator[None]:
        """Draw from the page's own margin, also where a page ends amid an indented text."""
        kept = self.l_margin
        self.set_left_margin(_MARGIN_MM)
        self.set_x(_MARGIN_MM)
        yield
        self.set_left_margin(kept)

    def header(self) -> None:
        """Draw the running head; on an invented shop's pages it says so."""
        with self._full_width():
            self._head()

    def _head(self) -> None:
        if self._mark:
            self.set_font(FONT, "B", 10)
            self.set_text_color(*_RED)
            mark = printable(self._mark)
            self.cell(0, 6, mark, border=1, align="C", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
            self.set_text_color(*_BLACK)
            self.ln(1.5)
        self.set_font(FONT, "", 9)
        self.cell(self.epw * 0.6, 5, fitting(self, self._left, self.epw * 0.6 - 4))
        self.set_font(FONT, "B", 9)
        right = fitting(self, self._right, self.epw * 0.4 - 4)
        self.cell(0, 5, right, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self._rule()
        self.ln(3)

    def footer(self) -> None:
        """Draw the running foot: who comes first, when it was printed, page n of m."""
        with self._full_width():
            self._feet()

    def _feet(self) -> None:
        self.set_y(-_FOOT_MM + 5)
        self._rule()
        self.ln(1)
        self.set_font(FONT, "", 6.7)
        self._block(0, 3.2, say(OUTRANKS))
        self.set_font(FONT, "", 8)
        self.cell(self.epw * 0.8, 5, fitting(self, self._foot, self.epw * 0.8 - 4))
        page = say("Page {page} of {pages}", page=self.page_no(), pages=_PAGES)
        self.cell(0, 5, _PAGES.join(map(printable, page.split(_PAGES))), align="R")

    def _rule(self) -> None:
        self.line(self.l_margin, self.get_y(), self.w - self.r_margin, self.get_y())

    def title_line(self, text: str) -> None:
        """Write the title of the document."""
        self.set_font(FONT, "B", 16)
        self._block(0, 7, text)
        self.ln(1)

    def heading(self, text: str) -> None:
        """Write the heading of a part, never alone at the foot of a page."""
        self._room(30)
        self.ln(3)
        self.set_font(FONT, "B", 12)
        self._block(0, 6, text)
        self._rule()
        self.ln(1.5)

    def band(self, text: str, mark: str, *, bad: bool, room_mm: float = 32.0) -> None:
        """Write a grey band that opens a block: its name and, on the right, how it stands.

        Parameters
        ----------
        text, mark : str
            Name and state.
        bad : bool
            Whether the state is printed in red besides.
        room_mm : float
            Height that must be left on the page, else the block opens the next one. [mm]
        """
        self._room(room_mm)
        self.ln(2)
        self._note(text)
        self.set_fill_color(*_GREY)
        self.set_font(FONT, "B", 10)
        mark = printable(mark)
        right_mm = self.get_string_width(mark) + 4
        left_mm = self.epw - right_mm
        self.cell(left_mm, 6, fitting(self, text, left_mm - 3), fill=True)
        self.set_text_color(*(_RED if bad else _BLACK))
        self.cell(right_mm, 6, mark, fill=True, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.set_text_color(*_BLACK)
        self.ln(1)

    def pair(self, label: str, lines: str | Iterable[str], *, bold: bool = False) -> None:
        """Write a label with one or more lines of text beside it.

        Parameters
        ----------
        label : str
            What it is.
        lines : str or iterable of str
            The text; nothing is written where there is none.
        bold : bool
            Whether the text stands out.
        """
        texts = [lines] if isinstance(lines, str) else list(lines)
        for place, text in enumerate(texts):
            self._room(_LINE_MM)
            self._label(label if place == 0 else "")
            self.set_font(FONT, "B" if bold else "", 9)
            # Lines that run over the page's end go on beside the label's column.
            self.set_left_margin(_MARGIN_MM + _LABEL_MM)
            self._block(0, _LINE_MM, text)
            self.set_left_margin(_MARGIN_MM)
            self.set_x(_MARGIN_MM)

    def _label(self, text: str) -> None:
        """Write a label in its column, smaller where a language has longer words."""
        for size in _LABEL_SIZES:
            self.set_font(FONT, "B", size)
            if self.get_string_width(printable(text)) <= _LABEL_MM - 1:
                break
        self.cell(_LABEL_MM, _LINE_MM, fitting(self, text, _LABEL_MM - 1))

    def paragraph(self, text: str, *, bold: bool = False) -> None:
        """Write a paragraph."""
        self.set_font(FONT, "B" if bold else "", 9)
        self._block(0, _LINE_MM, text)

    def line_at(
        self, x_mm: float, y_mm: float, width_mm: float, text: str, *, bold: bool = False
    ) -> None:
        """Write one line at a place of the page, cut where it is too long.

        Parameters
        ----------
        x_mm, y_mm : float
            Its upper left corner. [mm]
        width_mm : float
            Its length. [mm]
        text : str
            Any text.
        bold : bool
            Whether it stands out.
        """
        self._note(text)
        self.set_font(FONT, "B" if bold else "", 9)
        self.set_xy(x_mm, y_mm)
        self.cell(width_mm, _LINE_MM, fitting(self, text, width_mm - 2))

    def grid(
        self,
        head: Sequence[str],
        rows: Iterable[Sequence[str]],
        widths: Sequence[float],
        longest: int = 60,
    ) -> None:
        """Draw a table, its head again on every page.

        Parameters
        ----------
        head : sequence of str
            Names of the columns.
        rows : iterable of sequence of str
            Short texts, one a column.
        widths : sequence of float
            Relative widths.
        longest : int
            Letters of a cell; the rest of a longer text is cut off.
        """
        self.set_font(FONT, "", 8.5)
        self.set_fill_color(255, 255, 255)
        with self.table(
            col_widths=tuple(widths),
            line_height=_LINE_MM,
            padding=0.6,
            headings_style=FontFace(emphasis="BOLD", fill_color=_GREY),
            cell_fill_mode=TableCellFillMode.NONE,
            text_align="LEFT",
        ) as table:
            for row in (head, *rows):
                line = table.row()
                for cell in row:
                    self._note(cell)
                    line.cell(one_line(cell, longest))
        self.ln(1)

    def _block(self, width: float, height: float, text: str) -> None:
        self._note(text)
        self.multi_cell(
            width, height, printable(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT
        )

    def _note(self, text: str) -> None:
        self.is_lossy = self.is_lossy or (text != say(OUTRANKS) and is_lossy(text))

    def _room(self, height: float) -> None:
        """Start a new page where fewer than so many millimetres are left."""
        if self.will_page_break(height):
            self.add_page()
