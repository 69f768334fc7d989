"""Units at the edges, against pint and against hand arithmetic."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor import units
from advisor.errors import InputError, UnitError
from advisor.language import speaking
from advisor.units import FIELDS, Calibration, from_inner, parse_number, show, to_inner

PINT = pint.UnitRegistry()
#: Names of the allowed units in pint, written out here so that a wrong alias shows.
PINT_NAMES = {
    "mm": "millimeter",
    "in": "inch",
    "kA": "kiloampere",
    "A": "ampere",
    "ms": "millisecond",
    "kN": "kilonewton",
    "N": "newton",
    "daN": "decanewton",
    "lbf": "force_pound",
    "min": "minute",
    "h": "hour",
    "degC": "degree_Celsius",
    "degF": "degree_Fahrenheit",
}
MACHINE = Calibration(mains_hz=60.0, force_kN_per_bar=0.62, force_offset_kN=-0.15)
EVERY_UNIT = [(name, unit) for name, field in FIELDS.items() for unit in field.allowed]
PLAIN = [(name, unit) for name, unit in EVERY_UNIT if unit in PINT_NAMES]
VALUES = (-17.5, 0.0, 0.047, 1.2, 68.0, 10500.0)


def test_only_cycles_and_pressures_are_left_to_the_machine():
    assert {unit for _, unit in EVERY_UNIT if unit not in PINT_NAMES} == {"cycle", "bar", "psi"}


@pytest.mark.parametrize(("name", "unit"), PLAIN)
@pytest.mark.parametrize("value", VALUES)
def test_conversion_agrees_with_pint(name, unit, value):
    inner = PINT_NAMES[FIELDS[name].unit]
    expected = PINT.Quantity(value, PINT_NAMES[unit]).to(inner).magnitude
    assert to_inner(name, value, unit) == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(("name", "unit"), EVERY_UNIT)
@given(value=st.floats(-1e5, 1e5))
def test_there_and_back(name, unit, value):
    there = to_inner(name, value, unit, MACHINE)
    assert from_inner(name, there, unit, MACHINE) == pytest.approx(value, rel=1e-9, abs=1e-7)


@pytest.mark.parametrize(("name", "field"), FIELDS.items())
def test_inner_unit_is_the_first_choice_and_left_as_it_is(name, field):
    assert field.name == name
    assert field.allowed[0] == field.unit
    assert to_inner(name, 1.234567, field.unit) == 1.234567


@pytest.mark.parametrize(("hz", "ms"), [(50.0, 200.0), (60.0, 166.6666667)])
def test_ten_cycles_are_ten_periods_of_the_mains(hz, ms):
    assert to_inner("time", 10, "cycle", Calibration(mains_hz=hz)) == pytest.approx(ms)


def test_cycle_is_never_the_angle_of_pint():
    assert to_inner("time", 1, "cycle", MACHINE) != pytest.approx(2 * math.pi)


def test_cycles_need_the_mains_frequency():
    with pytest.raises(
        UnitError, match=r"needs the machine's mains frequency.*give the time in ms"
    ):
        to_inner("time", 10, "cycle")


@pytest.mark.parametrize("unit", ["bar", "psi"])
def test_pressure_needs_the_calibration(unit):
    with pytest.raises(UnitError, match=f"air pressure in {unit} needs.*or give the force in kN"):
        to_inner("force", 4, unit, Calibration(mains_hz=50.0))


@pytest.mark.parametrize("pressure", [0.0, 1.0, 5.5])
def test_pressure_follows_the_calibrated_line(pressure):
    by_hand = 0.62 * pressure - 0.15
    psi = PINT.Quantity(pressure, "bar").to("psi").magnitude
    assert to_inner("force", pressure, "bar", MACHINE) == pytest.approx(by_hand)
    assert to_inner("force", psi, "psi", MACHINE) == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("name", "unit"),
    [("thickness", "cm"), ("current", "KA"), ("current", "MA"), ("force", "kgf"), ("time", "s")],
)
def test_a_unit_outside_the_list_is_refused_with_the_list(name, unit):
    with pytest.raises(UnitError, match=f"{name} cannot be given in '{unit}'; use one of: "):
        to_inner(name, 1, unit)


def test_an_unknown_quantity_is_refused_with_the_known_ones():
    with pytest.raises(UnitError, match="no quantity is called 'area'; known: thickness, "):
        units.field("area")


@pytest.mark.parametrize("hz", [0.0, 39.9, 400.0, math.nan])
def test_mains_frequency_is_checked(hz):
    with pytest.raises(InputError, match=r"mains frequency is .* Hz; it must be 50 or 60 Hz"):
        Calibration(mains_hz=hz)


@pytest.mark.parametrize("slope", [0.0, -0.1, 20.1, math.nan])
def test_force_per_pressure_is_checked(slope):
    with pytest.raises(InputError, match=r"kN/bar; it must be above 0 .* force gauge"):
        Calibration(force_kN_per_bar=slope)


def test_only_units_the_machine_can_serve_are_offered():
    assert units.units_for("time") == ("ms",)
    assert units.units_for("time", MACHINE) == ("ms", "cycle")
    assert units.units_for("force") == ("kN", "N", "daN", "lbf")
    assert units.units_for("force", MACHINE) == ("kN", "N", "daN", "lbf", "bar", "psi")


@pytest.mark.parametrize(
    ("name", "value", "unit", "text"),
    [
        ("thickness", 1.2, None, "1.20 mm"),
        ("thickness", 1.2, "in", "0.0472 in"),
        ("current", 10.5, "A", "10500 A"),
        ("time", 200.0, "cycle", "12.0 cycles"),
        ("force", 2.5, "daN", "250 daN"),
        ("temperature", 21.0, "degF", "69.8 °F"),
        ("diameter", None, None, "–"),
        ("diameter", math.nan, None, "–"),
    ],
)
def test_show_writes_the_unit_behind_the_number(name, value, unit, text):
    assert show(name, value, unit, MACHINE) == text


@pytest.mark.parametrize(
    ("text", "number"),
    [("1.2", 1.2), ("1,2", 1.2), (" 0,8 ", 0.8), ("\u22123", -3.0), ("10500", 10500.0)],
)
def test_numbers_are_read_with_point_or_comma(text, number):
    assert parse_number(text, "thickness") == number


@pytest.mark.parametrize("text", ["", "thin", "1,2,3", "1,234.5", "1 2", "1_2", "1.2 mm"])
def test_what_is_no_number_is_refused_by_its_name(text):
    with pytest.raises(InputError, match=r"thickness is .*; it must be a number such as 1.2"):
        parse_number(text, "thickness")


@pytest.mark.parametrize("text", ["nan", "inf", "-infinity", "1e999"])
def test_numbers_must_be_finite(text):
    with pytest.raises(InputError, match="must be a finite number"):
        parse_number(text, "thickness")


def test_figures_and_refusals_follow_the_language(pseudo):
    with speaking("de"):
        assert show("thickness", 1.2, "mm") == "1,20 mm"
        assert show("time", 200.0, "cycle", MACHINE) == "12,0 ⟦cycles⟧"
        assert parse_number("1,2", "thickness") == 1.2
        with pytest.raises(UnitError, match="⟦⟦current⟧ cannot be given in 'mm'; use one of: kA"):
            to_inner("current", 1, "mm")
