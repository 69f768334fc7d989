"""The photos of a record's coupons, on pages of their own, six a page."""

from __future__ import annotations

import io
from collections.abc import Iterator

from advisor.language import say
from advisor.record import wording
from advisor.record.entries import CouponEntry, PhotoEntry
from advisor.record.job_record import JobRecord, Printing
from advisor.record.paper import Paper

A_PAGE = 6
_ACROSS = 2
_GAP_MM, _PICTURE_MM, _WORDS_MM = 6.0, 60.0, 15.0
_LINE_MM = 4.0


def photo_pages(paper: Paper, record: JobRecord) -> None:
    """Draw every photo with its coupon, its date and the beginning of its hash.

    Parameters
    ----------
    paper : Paper
        The document; it begins a new page, unless there is no photo.
    record : JobRecord
        The record.
    """
    top_mm = 0.0
    for place, (coupon, nth, photo) in enumerate(_photos(record)):
        row, column = divmod(place % A_PAGE, _ACROSS)
        if place % A_PAGE == 0:
            paper.add_page()
            paper.heading(say("Photos of the coupons"))
            top_mm = paper.get_y()
        width_mm = (paper.epw - _GAP_MM) / _ACROSS
        x_mm = paper.l_margin + column * (width_mm + _GAP_MM)
        y_mm = top_mm + row * (_PICTURE_MM + _WORDS_MM)
        alt = say("Photo {nth} of coupon #{number}", nth=nth, number=coupon.logged.number)
        _picture(paper, photo, alt, x_mm, y_mm)
        lines = _lines(coupon, nth, photo, record.printing)
        for line, text in enumerate(lines):
            at_mm = y_mm + _PICTURE_MM + 0.5 + line * _LINE_MM
            paper.line_at(x_mm, at_mm, width_mm, text, bold=line == 0)
        paper.ln(_LINE_MM)


def _photos(record: JobRecord) -> Iterator[tuple[CouponEntry, int, PhotoEntry]]:
    """Walk the photos, each with its coupon and its number there."""
    for coupon in record.coupons:
        for nth, photo in enumerate(coupon.photos, start=1):
            yield coupon, nth, photo


def _picture(paper: Paper, photo: PhotoEntry, alt: str, x_mm: float, y_mm: float) -> None:
    """Draw a photo in its frame, as large as it fits; a lost one is said to be lost."""
    width_mm = (paper.epw - _GAP_MM) / _ACROSS
    paper.set_draw_color(150)
    paper.rect(x_mm, y_mm, width_mm, _PICTURE_MM)
    paper.set_draw_color(0)
    if photo.copy:
        paper.image(
            io.BytesIO(photo.copy),
            x_mm,
            y_mm,
            width_mm,
            _PICTURE_MM,
            alt_text=alt,
            keep_aspect_ratio=True,
        )
    else:
        lost = say(wording.LOST_PHOTO)
        paper.line_at(x_mm + 2, y_mm + _PICTURE_MM / 2, width_mm - 4, lost)


def _lines(coupon: CouponEntry, nth: int, photo: PhotoEntry, printing: Printing) -> tuple[str, ...]:
    return (
        say(
            "Coupon #{number}: {verdict}",
            number=coupon.logged.number,
            verdict=wording.outcome_words(coupon),
        ),
        say(
            "photo {nth} of {count}, {moment} by {by}",
            nth=nth,
            count=len(coupon.photos),
            moment=printing.moment(photo.at),
            by=photo.by,
        ),
        say(
            "SHA-256 {hash}…, {width} × {height} pixels",
            hash=photo.short_hash,
            width=photo.width_px,
            height=photo.height_px,
        ),
    )
