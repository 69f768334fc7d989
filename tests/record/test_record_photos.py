"""Photos and the state of the log in a record: on paper, in its files, and small enough to mail."""

import csv
import hashlib
import io
import json
import re
from dataclasses import replace
from datetime import timedelta

import pytest
from photo_examples import photo, photo_with_place
from PIL import Image
from pypdf import PdfReader
from record_makers import GOOD, NOW, entry, pages, record

from advisor.record.entries import PhotoEntry
from advisor.record.files import CSV_COLUMNS, to_csv, to_json
from advisor.record.pdf import job_pdf
from advisor.record.photo_pages import A_PAGE
from advisor.record.pictures import PRINT_PX, print_copy, scaled, share_bytes
from advisor.record.text import LOSSY
from advisor.record.wording import LOST_PHOTO

SEAL = "5ea1" * 16
MAILED_BYTES = 15_000_000


def photo_entry(seed, copy=None, by="Kim"):
    data = photo(seed)
    copy = print_copy(data, share_bytes(1)) if copy is None else copy
    sha256 = hashlib.sha256(data).hexdigest()
    return PhotoEntry(sha256, by, NOW - timedelta(minutes=seed), 160, 120, copy)


def shown(*photos, **change):
    return record((), [entry(GOOD[0], photos=photos, **change), entry(GOOD[1])])


def pictures(pdf):
    """Return, for each page, the pictures on it as a reader decodes them."""
    return [[each.image for each in page.images] for page in PdfReader(io.BytesIO(pdf)).pages]


def with_number(jpeg, number):
    """Return another file with the same picture: a print keeps equal files only once."""
    comment = b"\xff\xfe\x00\x04" + number.to_bytes(2)
    return jpeg[:2] + comment + jpeg[2:]


def test_each_photo_is_printed_with_its_coupon_date_and_hash():
    one, other = photo_entry(1), photo_entry(2, by="Łukasz")
    pdf = job_pdf(shown(one, other))
    text = " ".join(pages(pdf))
    assert f"Coupon #11: PASS photo 1 of 2, 2026-06-03 14:29 by Kim SHA-256 {one.sha256[:12]}…" in (
        text
    )
    assert "photo 2 of 2, 2026-06-03 14:28 by Lukasz" in text
    assert f"Photos {one.sha256[:12]}, 2026-06-03 14:29 by Kim {other.sha256[:12]}" in text
    assert LOSSY in text
    (printed,) = [page for page in pictures(pdf) if page]
    for picture, kept in zip(printed, (one, other), strict=True):
        assert picture.size == Image.open(io.BytesIO(kept.copy)).size


def test_so_many_on_a_page_and_no_more():
    pdf = job_pdf(shown(*(photo_entry(seed) for seed in range(2 * A_PAGE + 1))))
    found = [len(page) for page in pictures(pdf) if page]
    assert found == [A_PAGE, A_PAGE, 1]
    assert sum("Photos of the coupons" in text for text in pages(pdf)) == 3


def test_no_photo_no_page_for_photos():
    pdf = job_pdf(shown())
    assert "Photos" not in " ".join(pages(pdf))
    assert not any(pictures(pdf))


def test_a_lost_photo_is_said_to_be_lost_and_holds_nothing_up():
    lost, there = photo_entry(1, copy=b""), photo_entry(2)
    made = shown(lost, there)
    pdf = job_pdf(made)
    assert " ".join(pages(pdf)).count(LOST_PHOTO) == 2
    assert sum(map(len, pictures(pdf))) == 1
    found = json.loads(to_json(made))["coupons"][0]["photos"]
    assert [each["is_lost"] for each in found] == [True, False]


def test_the_files_list_the_hashes():
    one, other = photo_entry(1), photo_entry(2)
    made = shown(one, other)
    first, second = json.loads(to_json(made))["coupons"]
    assert first["photos"][0] == {
        "sha256": one.sha256,
        "by": "Kim",
        "at": one.at.isoformat(),
        "width_px": 160,
        "height_px": 120,
        "is_lost": False,
    }
    assert second["photos"] == []
    assert "photos_sha256" in CSV_COLUMNS
    rows = list(csv.DictReader(io.StringIO(to_csv(made).decode(), newline="")))
    assert [row["photos_sha256"] for row in rows] == [f"{one.sha256}; {other.sha256}", ""]


def test_the_state_of_the_log_ends_the_record():
    made = replace(shown(), log_seal=SEAL)
    last = pages(job_pdf(made))[-1]
    assert re.search(rf"State of the log: {SEAL} This is the seal .* verify --holds", last)
    assert json.loads(to_json(made))["log_seal"] == SEAL


def test_a_log_without_coupons_has_no_state_to_print():
    made = record((), [])
    assert "State of the log" not in " ".join(pages(job_pdf(made)))
    assert json.loads(to_json(made))["log_seal"] == ""


@pytest.mark.parametrize("name", ["JPEG", "PNG", "WEBP"])
def test_a_copy_is_small_and_looks_the_same(name):
    data = photo(3, name, size=(2000, 1500))
    copy = print_copy(data, 60_000)
    assert len(copy) <= 60_000
    picture = Image.open(io.BytesIO(copy))
    assert picture.format == "JPEG"
    assert max(picture.size) <= PRINT_PX
    assert picture.width / picture.height == pytest.approx(4 / 3, rel=0.01)
    original = Image.open(io.BytesIO(data)).convert("RGB").resize((8, 6), Image.Resampling.BOX)
    seen = picture.resize((8, 6), Image.Resampling.BOX)
    levels = zip(original.tobytes(), seen.tobytes(), strict=True)
    assert max(abs(one - other) for one, other in levels) < 8


def test_a_small_photo_is_not_blown_up():
    assert Image.open(io.BytesIO(print_copy(photo(1), 10**9))).size == (160, 120)
    assert Image.open(io.BytesIO(scaled(photo(1), 80))).size == (80, 60)


def test_what_no_size_makes_short_enough_is_taken_at_the_smallest():
    copy = print_copy(photo(1, size=(2000, 1500)), 10)
    assert max(Image.open(io.BytesIO(copy)).size) == 240


def test_a_copy_has_nothing_but_the_picture():
    assert not dict(Image.open(io.BytesIO(print_copy(photo_with_place(), 10**6))).getexif())


def test_a_hundred_coupons_with_a_photo_each_can_be_mailed():
    most = share_bytes(100)
    copies = [print_copy(photo(seed, size=(2000, 1500)), most) for seed in range(4)]
    many = [
        entry(
            replace(GOOD[0], number=number),
            photos=(photo_entry(number, with_number(copies[number % 4], number)),),
        )
        for number in range(1, 101)
    ]
    pdf = job_pdf(record((), many))
    assert len(pdf) < MAILED_BYTES
    assert max(map(len, copies)) > most / 4  # not smaller than need be
    assert sum(map(len, pictures(pdf))) == 100
