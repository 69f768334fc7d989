"""Labels: what stands on them, where they stand, and a QR code that reads back as the number."""

import io
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from record_makers import GOOD, NOW, SMALL, pages

from advisor.errors import InputError
from advisor.record.job_record import INVENTED
from advisor.record.labels import LabelGrid, labels_pdf, qr_rows

_MASKS = (
    lambda r, c: (r + c) % 2,
    lambda r, c: r % 2,
    lambda r, c: c % 3,
    lambda r, c: (r + c) % 3,
    lambda r, c: (r // 2 + c // 3) % 2,
    lambda r, c: r * c % 2 + r * c % 3,
    lambda r, c: (r * c % 2 + r * c % 3) % 2,
    lambda r, c: ((r + c) % 2 + r * c % 3) % 2,
)
_SIDE = 21


def decoded(rows):
    """Read the digits of a version 1 code in numeric mode (ISO/IEC 18004, from memory).

    Written from the format's own rules, without the library that draws the codes.
    """
    assert len(rows) == _SIDE
    pattern = sum(rows[8][c] << (4 - c) for c in range(5)) ^ 0b10101
    mask = _MASKS[pattern & 0b111]
    bits = [rows[r][c] ^ (mask(r, c) == 0) for r, c in _places()]
    assert _number(bits[:4]) == 1, "not numeric"
    count, at, digits = _number(bits[4:14]), 14, ""
    while len(digits) < count:
        left = min(3, count - len(digits))
        size = {3: 10, 2: 7, 1: 4}[left]
        digits += f"{_number(bits[at : at + size]):0{left}d}"
        at += size
    return digits


def _places():
    """Walk the data modules: two columns at a time from the right, up and down in turn."""
    upward = True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for r in range(_SIDE)[:: -1 if upward else 1]:
            for c in (right, right - 1):
                corner = (r < 9 and (c < 9 or c > 12)) or (r > 12 and c < 9)
                if not corner and r != 6 and c != 6:
                    yield r, c
        upward = not upward


def _number(bits):
    return int("".join(str(int(b)) for b in bits), 2)


@given(st.integers(1, 999_999_999))
def test_a_code_reads_back_as_its_number(number):
    assert decoded(qr_rows(number)) == str(number)


def drawn_codes(pdf):
    """Return the codes drawn on the first page, from its rectangles, in the order drawn."""
    content = PdfReader(io.BytesIO(pdf)).pages[0].get_contents().get_data().decode("latin-1")
    found = re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) -([\d.]+) re f", content)
    boxes = [tuple(map(float, each)) for each in found]
    codes = []
    for box in boxes:
        if not codes or abs(box[1] - codes[-1][-1][1]) > 100 or box[1] > codes[-1][-1][1] + 1:
            codes.append([])
        codes[-1].append(box)
    return [_matrix(code) for code in codes]


def _matrix(boxes):
    left, top = min(b[0] for b in boxes), max(b[1] for b in boxes)
    step = boxes[0][3]
    rows = [[0] * _SIDE for _ in range(_SIDE)]
    for x, y, width, _ in boxes:
        for n in range(round(width / step)):
            rows[round((top - y) / step)][round((x - left) / step) + n] = 1
    return rows


def test_the_drawn_codes_are_those_numbers():
    assert [decoded(code) for code in drawn_codes(labels_pdf((*GOOD, SMALL), NOW))] == [
        "11",
        "12",
        "13",
    ]


def test_what_stands_on_a_label():
    (text,) = pages(labels_pdf((SMALL,), NOW))
    assert text == (
        "#13 0.8 + 1.2 + 1 mm wet / no adhesive Demo epoxy A gun 1 2026-06-03 10:10 Job RO 7"
    )
    (marked,) = pages(labels_pdf((SMALL,), NOW, mark=INVENTED))
    assert marked == f"{text} INVENTED"


def places(pdf):
    """Return the upper left corner of each label's number by page. [mm]."""
    found = []
    for page in PdfReader(io.BytesIO(pdf)).pages:
        here = []

        def visit(text, _cm, tm, _font, _size, here=here):
            if text.strip().startswith("#"):
                here.append((tm[4] * 25.4 / 72, 297 - tm[5] * 25.4 / 72))

        page.extract_text(visitor_text=visit)
        found.append(here)
    return found


def test_labels_start_where_asked_and_go_on_along_the_rows():
    (first_sheet, second_sheet) = places(labels_pdf((*GOOD, SMALL), NOW, first=23))
    (one,) = places(labels_pdf(GOOD[:1], NOW))
    (x, y) = one[0]
    assert first_sheet == [
        pytest.approx((x + 70, y + 7 * 37), abs=0.1),
        pytest.approx((x + 140, y + 7 * 37), abs=0.1),
    ]
    assert second_sheet == [pytest.approx((x, y), abs=0.1)]


@pytest.mark.parametrize("first", [0, 25])
def test_a_place_that_is_not_on_the_sheet_is_refused(first):
    with pytest.raises(InputError, match=f"first label is {first}; the sheet has places 1 to 24"):
        labels_pdf(GOOD, NOW, first=first)


def test_no_coupon_no_label():
    with pytest.raises(InputError, match="there is no coupon to print a label for"):
        labels_pdf((), NOW)


@pytest.mark.parametrize(
    ("grid", "words"),
    [
        ({"rows": 9}, r"the grid needs 210 x 333.5 mm; A4 has 210 x 297 mm"),
        ({"across_mm": 1.0}, r"the grid needs 212 x 296.5 mm"),
        ({"columns": 0}, "it needs a label at least"),
        ({"width_mm": 50.0}, "of 60 x 30 mm or more"),
    ],
)
def test_a_grid_that_does_not_fit_is_refused(grid, words):
    with pytest.raises(InputError, match=words):
        LabelGrid(**grid)


def test_long_and_odd_names_stay_on_their_label():
    odd = replace(SMALL, coupon=replace(SMALL.coupon, machine="Иван 🔥 " + "W" * 200))
    (text,) = pages(labels_pdf((odd,), NOW))
    assert re.search(r"¤¤¤¤ ¤ W{3,15}… 2026-06-03 10:10 Job RO 7$", text)
