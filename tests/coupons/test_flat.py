"""A coupon as a row of text: there and back without loss."""

import csv
import io

import pytest
from hypothesis import given
from strategies import coupons

from advisor.coupons.flat import COLUMNS, from_row, to_row
from advisor.coupons.importing import own_map, read_coupons, read_table
from advisor.errors import InputError
from advisor.units import FIELDS

GOOD = {
    "made_at": "2026-03-02T10:00:00+00:00",
    "welder": "Kim",
    "machine": "gun 1",
    "sheet1_thickness_mm": "1.2",
    "sheet2_thickness_mm": "1.5",
    "face_mm": "6",
    "current_kA": "9.5",
    "weld_ms": "200",
    "force_kN": "3",
}


@given(coupons())
def test_row_there_and_back_is_equal(coupon):
    assert from_row(to_row(coupon)) == coupon


@given(coupons())
def test_csv_file_there_and_back_is_equal(coupon):
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerow(to_row(coupon))
    table = read_table(text.getvalue().encode())
    assert read_coupons(table, own_map(table.header)).coupons == (coupon,)


def test_every_quantity_column_ends_in_its_inner_unit():
    units = {field.unit for field in FIELDS.values()}
    numbers = [name for name in COLUMNS if name.rpartition("_")[2] in units]
    assert "sheet1_thickness_mm" in numbers
    assert "force_kN" in numbers
    assert {"current_kA", "weld_ms", "interface3_largest_mm"} <= set(numbers)


def test_empty_cells_take_the_plain_meaning():
    coupon = from_row(GOOD)
    assert coupon.results[0].size_mm is None
    assert not coupon.expulsion
    assert coupon.setting.pulses == 1


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        ("current_kA", "", "current_kA is empty; it must be a number"),
        ("current_kA", "nine", "current_kA is 'nine'; it must be a number such as 1.2"),
        ("current_kA", "inf", "current_kA is 'inf'; it must be a finite number"),
        ("made_at", "yesterday", "made_at is 'yesterday'; it must be a date and time such as"),
        ("pulses", "1.5", "pulses is 1.5; it must be a whole number"),
        ("expulsion", "maybe", "expulsion is 'maybe'; it must be yes or no"),
        ("sheet1_family", "aluminium", "aluminium is not steel"),
        ("sheet1_thickness_mm", "-1.2", "sheet thickness is -1.2 mm; it must be positive"),
        ("interface1_failure", "plug", "failure type is 'plug'; it must be one of: button pulled"),
        ("welder", "", "no welder is named"),
    ],
)
def test_bad_cells_say_what_would_be_right(column, text, words):
    with pytest.raises(InputError, match=words):
        from_row(GOOD | {column: text})


def test_time_without_zone_is_utc():
    assert from_row(GOOD | {"made_at": "2026-03-02 10:00"}).made_at.isoformat().endswith("+00:00")
