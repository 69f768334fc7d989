import math

import numpy as np
import pytest
from csv_makers import UNITS, as_csv, measurements
from learning_makers import RULES

from advisor.coupons.importing import From, read_table
from advisor.errors import InputError
from advisor.learning.measured import (
    TARGETS,
    constant,
    mapped_column,
    named_columns,
    read_measured,
)
from advisor.weld.published import published_start
from advisor.weld.sheet import Surface

ROWS = measurements(6)


def read(data, columns=None, **words):
    table = read_table(data)
    found = named_columns(table.header) | (columns or {})
    return read_measured(table, found, RULES, **words)


def numbers(coupon):
    setting = coupon.setting
    return {
        "thickness1": coupon.stack.thicknesses_mm[0],
        "thickness2": coupon.stack.thicknesses_mm[1],
        "current": setting.current_kA,
        "weld_time": setting.weld_ms,
        "force": setting.force_kN,
        "face": coupon.electrode.face_mm,
        "diameter": coupon.results[0].size_mm,
    }


def csv(header, *lines):
    return "\n".join([header, *lines]).encode()


BASIC = "thickness1_mm,current_kA,weld_time_ms,diameter_mm"


# Units


def test_every_quantity_is_read_as_it_stands():
    found = read(as_csv(ROWS))
    assert found.dropped == {}
    assert [numbers(coupon) for coupon in found.coupons] == [pytest.approx(row) for row in ROWS]


@pytest.mark.parametrize(
    ("target", "unit"), [(target, unit) for target, units in UNITS.items() for unit in units]
)
def test_every_unit_comes_out_the_same(target, unit):
    found = read(as_csv(ROWS, {target: unit}))
    assert [numbers(c) for c in found.coupons] == [pytest.approx(row, rel=1e-12) for row in ROWS]


def test_a_cycle_is_a_period_of_its_mains():
    rows = csv("thickness1_mm,current_kA,weld_time_cycles60,diameter_mm", "1,9,12,5")
    assert read(rows).coupons[0].setting.weld_ms == pytest.approx(200)
    rows = csv("thickness1_mm,current_kA,weld_time_cycles50,diameter_mm", "1,9,12,5")
    assert read(rows).coupons[0].setting.weld_ms == pytest.approx(240)


@pytest.mark.parametrize("name", ["Current_kA", "CURRENT_KA", "weld_current_ka", " current_kA "])
def test_capitals_spaces_and_other_usual_names_do_not_matter(name):
    found = read(csv(f"thickness_mm,{name},weld_ms,nugget_diameter_mm", "1,9,200,5"))
    assert found.coupons[0].setting.current_kA == 9


def test_columns_that_mean_nothing_are_passed_over_and_the_first_of_two_counts():
    found = named_columns(["Sample", "current_kA", "current_A", "pull_N", "force_psi"])
    assert found == {
        "current": From("current_kA", "kA"),
        "pressure": From("force_psi", "psi"),
    }


# Pressure


def pressed(unit, factor):
    rows = [{k: v for k, v in row.items() if k != "force"} for row in ROWS]
    return as_csv(rows, **{f"pressure_{unit}": [factor * row["force"] for row in ROWS]})


def test_a_pressure_is_a_force_up_to_the_factor_that_fits_the_table():
    found = read(pressed("bar", 2.0))
    forces = np.array([coupon.setting.force_kN for coupon in found.coupons])
    assert forces / forces[0] == pytest.approx([row["force"] / ROWS[0]["force"] for row in ROWS])
    starts = [published_start(c.stack, RULES.bare_schedule).force_kN for c in found.coupons]
    assert np.log(forces).mean() == pytest.approx(np.log(starts).mean())
    assert any("pressure without calibration" in note for note in found.notes)


@pytest.mark.parametrize(("unit", "factor"), [("psi", 30.0), ("kPa", 200.0), ("MPa", 0.2)])
def test_the_unit_of_a_pressure_does_not_matter(unit, factor):
    there, back = read(pressed("bar", 2.0)), read(pressed(unit, factor))
    for one, other in zip(there.coupons, back.coupons, strict=True):
        assert numbers(other) == pytest.approx(numbers(one), rel=1e-12)


def test_a_force_beats_a_pressure():
    found = read(as_csv(ROWS, pressure_bar=[9] * len(ROWS)))
    assert [c.setting.force_kN for c in found.coupons] == [row["force"] for row in ROWS]
    assert not any("pressure" in note for note in found.notes)


# What is not given


def test_what_is_not_given_is_taken_from_the_table_and_said():
    found = read(csv(BASIC, "1.2,9,200,5"))
    (coupon,) = found.coupons
    start = published_start(coupon.stack, RULES.bare_schedule)
    assert coupon.stack.thicknesses_mm == (1.2, 1.2)
    assert coupon.stack.surfaces == {Surface.BARE}
    assert coupon.setting.force_kN == start.force_kN
    assert coupon.electrode.face_mm == start.face_mm
    assert not coupon.expulsion
    for text in ("low-carbon", "No surface", "both sheets", "No face", "No force"):
        assert sum(text in note for note in found.notes) == 1
    assert len(found.notes) == 5


def test_what_is_given_is_not_taken_for_granted():
    found = read(as_csv(ROWS, surface=["hot-dip zinc"] * len(ROWS)))
    assert found.notes == ("Every sheet counts as low-carbon steel.",)
    assert found.coupons[0].stack.surfaces == {Surface.HOT_DIP_ZINC}


@pytest.mark.parametrize("cell", ["yes", "YES", "1", "true", "x", "Explode"])
def test_words_that_mean_expulsion(cell):
    found = read(csv(f"{BASIC},expulsion", f"1,9,200,5,{cell}"), yes_words=frozenset({"explode"}))
    assert found.coupons[0].expulsion


@pytest.mark.parametrize("cell", ["no", "0", "", "Good", "n/a"])
def test_other_words_do_not(cell):
    found = read(csv(f"{BASIC},expulsion", f"1,9,200,5,{cell}"), yes_words=frozenset({"explode"}))
    assert not found.coupons[0].expulsion


# Rows that are dropped


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("1,9,200,", "no diameter"),
        ("1,9,200,-99", "no diameter"),
        ("1,,200,5", "a reading is lost"),
        ("-99,9,200,5", "a reading is lost"),
        ("0.3,9,200,5", "outside the scope"),
        ("1,0,200,5", "outside the scope"),
        ("1,9,200,0", "outside the scope"),
        ("1,9,two,5", "outside the scope"),
        ("1,9,200", "cells that do not fit the header"),
    ],
)
def test_a_row_of_no_use_is_dropped_with_its_reason(line, reason):
    found = read(csv(BASIC, "1,9,200,5", line, "1.1,9,200,5.1"), lost=frozenset({"-99"}))
    assert len(found.coupons) == 2
    assert found.dropped == {reason: 1}


def test_too_unequal_sheets_and_unpublished_surfaces_are_outside_the_scope():
    header = f"{BASIC},thickness2_mm,surface"
    lines = ("0.6,9,200,5,2.4,bare", "1,9,200,5,1,aluminium-silicon", "1,9,200,5,1,rusty")
    found = read(csv(header, *lines))
    assert found.dropped == {"outside the scope": 3}
    assert found.coupons == ()


def test_a_dropped_row_does_not_move_the_pressures():
    header, good = f"{BASIC},pressure_bar", ["1,9,200,5,3", "1.2,10,220,5.2,4"]
    there = read(csv(header, *good))
    back = read(csv(header, *good, "1,9,200,,9000", "0.2,9,200,5,9000", "1,9,200,5,-1"))
    assert [c.setting for c in back.coupons] == [c.setting for c in there.coupons]


# Maps


@pytest.mark.parametrize(
    ("text", "target", "source"),
    [
        ("current=Current (A):A", "current", From("Current (A)", "A")),
        ("current=I", "current", From("I", "kA")),
        ("weld_time=Time: on:cycles60", "weld_time", From("Time: on", "cycles60")),
        ("diameter = Nugget", "diameter", From("Nugget", "mm")),
        ("expulsion=Category", "expulsion", From("Category", "")),
        ("surface=a: b", "surface", From("a: b", "")),
    ],
)
def test_a_map_names_column_and_unit(text, target, source):
    assert mapped_column(text) == (target, source)


@pytest.mark.parametrize("text", ["current", "current=", "=I", "colour=red", ""])
def test_a_map_of_another_form_is_refused(text):
    with pytest.raises(InputError, match=r"is not of the form TARGET=COLUMN\[:UNIT\]; targets: "):
        mapped_column(text)


def test_a_unit_that_does_not_fit_is_refused_with_those_that_do():
    with pytest.raises(InputError, match="current cannot be in 'mm'; use one of: kA, A"):
        mapped_column("current=I:mm")
    with pytest.raises(InputError, match="surface cannot be in 'mm'; use one of: no unit"):
        mapped_column("surface=Coat:mm")


def test_a_constant_holds_for_every_row():
    assert constant("face=0.25:in") == ("face", From(unit="in", constant="0.25"))
    given = dict([constant("surface=electrolytic zinc"), constant("face=0.25:in")])
    found = read(csv(BASIC, "1,9,200,5", "1.2,10,220,5.2"), given)
    for coupon in found.coupons:
        assert coupon.stack.surfaces == {Surface.ELECTRO_ZINC}
        assert coupon.electrode.face_mm == pytest.approx(6.35)


def test_a_missing_column_is_named_with_what_would_help():
    with pytest.raises(
        InputError,
        match=r"no column for current, diameter: .* current_kA, or use --map current=COLUMN:UNIT; "
        r"the file has: thickness_mm, weld_ms",
    ):
        read(csv("thickness_mm,weld_ms", "1,200"))
    with pytest.raises(InputError, match="the file has no column 'I'; it has: thickness1_mm"):
        read(csv(BASIC, "1,9,200,5"), {"current": From("I", "kA")})


def test_every_target_can_be_mapped():
    for target in TARGETS:
        assert mapped_column(f"{target}=Column")[0] == target


def test_sizes_survive_the_way_to_the_response():
    # Turned over it is the same coupon: the thinner sheet governs either way.
    rows = [
        {**row, "thickness1": row["thickness2"], "thickness2": row["thickness1"]} for row in ROWS
    ]
    for there, back in zip(read(as_csv(ROWS)).coupons, read(as_csv(rows)).coupons, strict=True):
        assert there.stack.same_as(back.stack)
        assert math.isclose(there.results[0].size_mm, back.results[0].size_mm)
