"""The classic inch table for low-carbon steel (AWS C1.1 / Welding Handbook), from memory, 60 Hz.

Nobody has checked these figures against the document, so physics has to: the ranges below were
computed from the table itself and must hold for a table without a slip of the pen.
"""

import csv
import math

import pytest

from advisor.resources import reference
from advisor.weld.published import INCH_FILE, low_carbon_table

#: thickness, body, face [in]; force [lb]; cycles at 60 Hz; current [A]; overlap, spacing, fused
#: diameter [in]; shear below and from 70 ksi [lb] (None: not printed). From memory.
TABLE = (
    (0.010, 0.500, 0.1250, 200, 4, 4000, 0.3750, 0.250, 0.10, 130, 180),
    (0.021, 0.500, 0.1875, 300, 6, 6500, 0.4375, 0.375, 0.13, 320, 440),
    (0.031, 0.500, 0.1875, 400, 8, 8000, 0.4375, 0.500, 0.16, 570, 800),
    (0.040, 0.625, 0.2500, 500, 10, 9500, 0.5000, 0.750, 0.19, 920, 1200),
    (0.050, 0.625, 0.2500, 650, 12, 10500, 0.5625, 0.875, 0.22, 1350, None),
    (0.062, 0.625, 0.2500, 800, 14, 12000, 0.6250, 1.000, 0.25, 1850, None),
    (0.078, 0.625, 0.3125, 1100, 17, 14000, 0.6875, 1.250, 0.29, 2700, None),
    (0.094, 0.625, 0.3125, 1300, 20, 15500, 0.7500, 1.500, 0.31, 3450, None),
    (0.109, 0.625, 0.3750, 1600, 23, 17500, 0.8125, 1.625, 0.32, 4150, None),
    (0.125, 0.875, 0.3750, 1800, 26, 19000, 0.8750, 1.750, 0.33, 5000, None),
)
# Exact by definition: 1 in = 25.4 mm; 1 lbf = 0.45359237 kg × 9.80665 m/s².
MM_PER_INCH, KN_PER_POUND = 25.4, 0.45359237 * 9.80665 / 1000
MS_PER_CYCLE = 1000 / 60
ROWS = [pytest.param(row, id=f"{printed[0]:.3f}in") for row, printed in enumerate(TABLE)]


def fused_over_root_t(row) -> float:
    return row["fused_mm"] / math.sqrt(row["thickness_mm"])


def pull_out_stress_mpa(row) -> float:
    return 1000 * row["shear_kN"] / (math.pi * row["fused_mm"] * row["thickness_mm"])


def electrode_pressure_mpa(row) -> float:
    return 1000 * row["force_kN"] / (math.pi / 4 * row["face_mm"] ** 2)


def spacing_over_t(row) -> float:
    return row["spacing_mm"] / row["thickness_mm"]


#: Ranges computed from the table, with the decimals they are given to.
PHYSICS = {
    fused_over_root_t: (4.5, 5.2, 1),
    pull_out_stress_mpa: (245, 285, 0),
    electrode_pressure_mpa: (70, 117, 0),
    spacing_over_t: (14, 25, 0),
}


def test_reference_file_holds_the_figures_cell_by_cell():
    with reference(INCH_FILE).open(encoding="utf-8", newline="") as opened:
        _, *lines = csv.reader(opened)
    cells = [tuple(float(cell) if cell else None for cell in line) for line in lines]
    assert cells == list(TABLE)


@pytest.mark.parametrize("row", ROWS)
def test_table_is_converted_by_the_definitions_of_inch_pound_and_cycle(row):
    read, printed = low_carbon_table().iloc[row], TABLE[row]
    inches = dict(thickness_mm=0, face_mm=2, overlap_mm=6, spacing_mm=7, fused_mm=8)
    for name, column in inches.items():
        assert read[name] == pytest.approx(printed[column] * MM_PER_INCH)
    assert read["force_kN"] == pytest.approx(printed[3] * KN_PER_POUND)
    assert read["weld_ms"] == pytest.approx(printed[4] * MS_PER_CYCLE)
    assert read["current_kA"] == pytest.approx(printed[5] / 1000)
    assert read["shear_kN"] == pytest.approx(printed[9] * KN_PER_POUND)


@pytest.mark.parametrize("row", ROWS)
@pytest.mark.parametrize("physics", PHYSICS, ids=lambda f: f.__name__)
def test_row_is_physically_sound(physics, row):
    """Compared to the decimals the range is given to."""
    low, high, decimals = PHYSICS[physics]
    assert low <= round(physics(low_carbon_table().iloc[row]), decimals) <= high


def test_the_two_rows_that_hold_only_when_rounded():
    """Without rounding, 0.078 in is 5.23√t wide and 0.010 in pulls at 285.3 MPa; no other row."""
    over = {
        (physics.__name__, TABLE[row][0])
        for physics, (low, high, _) in PHYSICS.items()
        for row in range(len(TABLE))
        if not low - 1e-9 <= physics(low_carbon_table().iloc[row]) <= high + 1e-9
    }
    assert over == {("fused_over_root_t", 0.078), ("pull_out_stress_mpa", 0.010)}


def test_every_quantity_grows_with_thickness():
    assert all(low_carbon_table()[name].is_monotonic_increasing for name in low_carbon_table())


@pytest.mark.parametrize("row", ROWS)
def test_electrode_face_is_at_least_as_wide_as_the_weld(row):
    read = low_carbon_table().iloc[row]
    assert read["face_mm"] >= read["fused_mm"] - 1e-9
