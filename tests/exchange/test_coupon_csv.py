"""The CSV of coupons: every free text comes back, whatever it looks like."""

from dataclasses import replace

import pytest
from exchange_makers import GOOD, NAMES, TEXTS
from fuzz import coupon_csv
from hypothesis import given
from hypothesis import strategies as st
from strategies import coupons

from advisor.coupons.importing import DECIDING, From, own_map, read_coupons, read_table
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Bond, Stack

LOST = ("-", "n/a", "none", "NaN", " - ")


@st.composite
def worded(draw):
    """Draw a coupon with any text wherever a person types one."""
    coupon = draw(coupons())
    texts = TEXTS | st.sampled_from(LOST)
    sheets = [replace(sheet, grade=draw(texts)) for sheet in coupon.stack.sheets]
    bonds = [Bond(draw(NAMES), b.state) if b.is_bonded else b for b in coupon.stack.bonds]
    return replace(
        coupon,
        welder=draw(NAMES),
        machine=draw(NAMES),
        job=draw(texts),
        notes=draw(texts),
        electrode=replace(coupon.electrode, material=draw(texts)),
        stack=Stack(tuple(sheets), tuple(bonds)),
    )


@given(st.lists(worded(), min_size=1, max_size=3))
def test_coupons_come_back_with_every_letter(made):
    table = read_table(coupon_csv(made))
    reading = read_coupons(table, own_map(table.header), needed=DECIDING)
    assert (reading.coupons, reading.problems) == (tuple(made), ())


def test_an_unbonded_coupon_of_this_tool_s_own_file_is_said_to_be_unbonded():
    table = read_table(coupon_csv([GOOD]))
    assert read_coupons(table, own_map(table.header), needed=DECIDING).coupons == (GOOD,)
    table = read_table(coupon_csv([GOOD]).replace(b",none,", b", ,"))
    (problem,) = read_coupons(table, own_map(table.header), needed=DECIDING).problems
    assert "bond1_state not given" in problem.reason


def test_formulas_are_guarded_in_the_file():
    data = coupon_csv([replace(GOOD, notes="=1+1", job="@home")]).decode()
    assert ",'=1+1" in data
    assert ",'@home," in data


def test_a_mark_for_a_lost_reading_is_one_in_the_column_of_another_s_file():
    table = read_table(coupon_csv([replace(GOOD, notes="-")]))
    columns = own_map(table.header) | {"notes": From("notes")}
    (read,) = read_coupons(table, columns).coupons
    assert read.notes == ""


@pytest.mark.parametrize(
    "made_at", ["0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00", "0206-03-01T10:00"]
)
def test_a_date_that_no_clock_can_show_is_a_problem_of_its_line(made_at):
    data = coupon_csv([GOOD])
    data = data.replace(b"2025-06-20T10:00:00+00:00", made_at.encode())
    table = read_table(data)
    (problem,) = read_coupons(table, own_map(table.header)).problems
    assert (problem.line, "the year must be 1900 to 2999" in problem.reason) == (2, True)


def test_the_thickest_stack_is_whole():
    four = Stack(tuple(Sheet(1.0, grade=f"={n}") for n in range(4)))
    made = replace(GOOD, stack=four, results=())
    table = read_table(coupon_csv([made]))
    assert read_coupons(table, own_map(table.header)).coupons == (made,)
