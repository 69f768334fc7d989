"""ISO 14373:2015 Annex B, Tables B.1 and B.2: the printed figures, typed again from the tables.

Source of every literal here: ISO 14373:2015, Table B.1 (uncoated) and Table B.2 (zinc), read.
Cycles are periods of 50 Hz mains, so one is 20 ms.
"""

import csv
from itertools import pairwise

import pytest

from advisor.errors import NoAdviceError
from advisor.resources import reference
from advisor.weld.published import B1_FILE, B2_FILE, Schedule, row_for, rows, start_value

MS_PER_CYCLE = 20.0
#: over, up to, tip; then force kN, cycles, current kA (each low, high), first schedule, second.
TABLE_B1 = (
    (0.4, 0.6, 4, 0.9, 1.1, 5, 7, 4, 6, 1.3, 1.8, 4, 5, 5, 8),
    (0.6, 0.8, 4, 1.2, 1.3, 7, 10, 5, 7, 1.7, 2.0, 6, 8, 6, 9),
    (0.8, 1.0, 5, 1.4, 1.5, 9, 12, 6, 8, 1.9, 2.6, 7, 10, 7, 10),
    (1.0, 1.2, 5, 1.6, 1.8, 11, 15, 7, 9, 2.5, 3.2, 8, 12, 8, 12),
    (1.2, 1.6, 6, 1.9, 2.1, 14, 18, 8, 11, 3.0, 4.0, 9, 13, 10, 13),
    (1.6, 2.0, 7, 2.6, 2.9, 18, 22, 9, 13, 3.9, 5.2, 10, 14, 12, 15),
    (2.0, 2.5, 8, 3.4, 3.7, 22, 28, 10, 15, 5.0, 6.2, 12, 16, 14, 18),
    (2.5, 3.0, 9, 4.4, 4.7, 28, 35, 12, 17, 6.0, 7.5, 15, 20, 17, 20),
)
TABLE_B2 = (
    (0.4, 0.6, 4, 1.5, 2.0, 6, 8, 7, 9, 1.5, 2.0, 6, 8, 6, 8),
    (0.6, 0.8, 4, 1.9, 2.0, 8, 10, 8, 10, 1.9, 2.2, 8, 10, 7, 9),
    (0.8, 1.0, 5, 2.2, 2.9, 9, 12, 9, 11, 2.2, 2.9, 9, 12, 8, 10),
    (1.0, 1.2, 5, 2.8, 3.6, 10, 13, 10, 13, 2.8, 3.6, 10, 13, 9, 13),
    (1.2, 1.6, 6, 3.4, 4.5, 11, 15, 14, 16, 3.4, 4.5, 11, 15, 12, 15),
    (1.6, 2.0, 7, 4.4, 5.5, 12, 16, 18, 21, 4.4, 5.5, 12, 16, 14, 17),
    (2.0, 2.5, 8, 5.4, 6.8, 14, 18, 22, 26, 5.4, 6.8, 14, 18, 17, 22),
    (2.5, 3.0, 9, 6.6, 8.0, 17, 21, 26, 30, 6.6, 8.0, 17, 21, 19, 24),
)
#: Where each schedule's six figures begin in a row.
PRINTED = {
    Schedule.MEDIUM_FORCE: (TABLE_B1, 3),
    Schedule.HIGH_FORCE: (TABLE_B1, 9),
    Schedule.HOT_DIP: (TABLE_B2, 3),
    Schedule.ELECTRO: (TABLE_B2, 9),
}
QUANTITIES = {"force_kN": (0, 1.0), "weld_ms": (2, MS_PER_CYCLE), "current_kA": (4, 1.0)}
EVERY_CURVE = [(schedule, quantity) for schedule in PRINTED for quantity in QUANTITIES]
#: 0.400, 0.401 … 3.000 mm.
GRID_MM = [n / 1000 for n in range(400, 3001)]


def printed_bands(schedule: Schedule, quantity: str) -> list[tuple[float, float, float, float]]:
    """Return (over, up to, low, high) of every printed row, in the program's unit."""
    table, first = PRINTED[schedule]
    column, factor = QUANTITIES[quantity]
    at = first + column
    return [(r[0], r[1], r[at] * factor, r[at + 1] * factor) for r in table]


def printed_band_at(schedule: Schedule, quantity: str, thickness_mm: float) -> tuple[float, float]:
    """Return (low, high) of the row "over … up to and including" holds; 0.4 is in the first."""
    return next(
        (low, high)
        for _, upto, low, high in printed_bands(schedule, quantity)
        if thickness_mm <= upto
    )


@pytest.mark.parametrize(("file", "printed"), [(B1_FILE, TABLE_B1), (B2_FILE, TABLE_B2)])
def test_reference_file_holds_the_printed_figures_cell_by_cell(file, printed):
    with reference(file).open(encoding="utf-8", newline="") as opened:
        _, *lines = csv.reader(opened)
    assert [tuple(float(cell) for cell in line[:15]) for line in lines] == list(printed)


@pytest.mark.parametrize("file", [B1_FILE, B2_FILE])
def test_reference_file_names_its_columns_in_the_order_typed_here(file):
    with reference(file).open(encoding="utf-8", newline="") as opened:
        header = next(csv.reader(opened))
    kinds = [name.partition("_")[2] for name in header[3:15]]
    assert header[:3] == ["t_over_mm", "t_upto_mm", "tip_dia_mm"]
    assert kinds == 2 * [
        f"{kind}_{end}" for kind in ("force_kN", "cycles50", "current_kA") for end in ("lo", "hi")
    ]


@pytest.mark.parametrize("schedule", Schedule)
def test_rows_carry_the_printed_figures_in_our_units(schedule):
    read = rows(schedule)
    table, _ = PRINTED[schedule]
    assert len(read) == 8
    assert [(r.over_mm, r.upto_mm, r.face_mm) for r in read] == [line[:3] for line in table]
    for quantity in QUANTITIES:
        bands = [getattr(row, quantity) for row in read]
        expected = [(low, high) for _, _, low, high in printed_bands(schedule, quantity)]
        assert [(band.low, band.high) for band in bands] == expected


@pytest.mark.parametrize("schedule", Schedule)
def test_thickness_ranges_join_from_0_4_to_3_0(schedule):
    read = rows(schedule)
    assert (read[0].over_mm, read[-1].upto_mm) == (0.4, 3.0)
    assert [row.upto_mm for row in read[:-1]] == [row.over_mm for row in read[1:]]
    assert all(row.over_mm < row.upto_mm for row in read)


@pytest.mark.parametrize(("schedule", "quantity"), EVERY_CURVE)
def test_bands_are_ordered_within_and_between_rows(schedule, quantity):
    bands = [getattr(row, quantity) for row in rows(schedule)]
    assert all(band.low < band.high for band in bands)
    assert [b.low for b in bands] == sorted(b.low for b in bands)
    assert [b.high for b in bands] == sorted(b.high for b in bands)


@pytest.mark.parametrize("schedule", Schedule)
@pytest.mark.parametrize(
    ("thickness_mm", "face_mm"), [(0.4, 4), (0.6, 4), (1.2, 5), (1.201, 6), (3.0, 9)]
)
def test_a_row_holds_its_upper_end_and_not_its_lower(schedule, thickness_mm, face_mm):
    assert row_for(schedule, thickness_mm).face_mm == face_mm


@pytest.mark.parametrize(("schedule", "quantity"), EVERY_CURVE)
def test_start_lies_in_the_printed_band_and_never_falls(schedule, quantity):
    starts = [start_value(schedule, quantity, t) for t in GRID_MM]
    for thickness, start in zip(GRID_MM, starts, strict=True):
        low, high = printed_band_at(schedule, quantity, thickness)
        assert low - 1e-9 <= start <= high + 1e-9, f"{start} at {thickness} mm"
    assert all(b >= a - 1e-12 for a, b in pairwise(starts))


@pytest.mark.parametrize(("schedule", "quantity"), EVERY_CURVE)
def test_start_steps_only_where_printed_neighbours_share_nothing(schedule, quantity):
    bands = printed_bands(schedule, quantity)
    gaps = {
        upper[0]: (lower[3], upper[2]) for lower, upper in pairwise(bands) if upper[2] > lower[3]
    }
    for before, after in pairwise(GRID_MM):
        a = start_value(schedule, quantity, before)
        b = start_value(schedule, quantity, after)
        if before in gaps:
            top, foot = gaps[before]
            assert a == pytest.approx(top)
            assert b == pytest.approx(foot, rel=0.005)
        else:
            assert b - a < 0.005 * a, f"a jump at {before} mm"


@pytest.mark.parametrize("zinc", [Schedule.HOT_DIP, Schedule.ELECTRO])
def test_zinc_never_starts_with_less_current_than_bare_steel(zinc):
    """Steels: Metallurgy and Applications, 3rd ed., p. 104 (read): zinc needs more current."""
    for thickness in GRID_MM[::50]:
        bare = start_value(Schedule.HIGH_FORCE, "current_kA", thickness)
        assert start_value(zinc, "current_kA", thickness) > bare


def test_the_doubtful_cell_is_flagged_and_kept_as_read():
    """B.2, over 0.6 to 0.8 mm, hot-dip force: 2.0 read, 2.2 likely."""
    doubtful = [r for schedule in Schedule for r in rows(schedule) if r.doubt]
    assert [(r.schedule, r.over_mm, r.upto_mm) for r in doubtful] == [(Schedule.HOT_DIP, 0.6, 0.8)]
    assert (doubtful[0].force_kN.low, doubtful[0].force_kN.high) == (1.9, 2.0)
    assert "2.0 differs from ez 2.2" in doubtful[0].doubt


def test_start_in_the_doubtful_row_is_right_by_either_reading():
    """1.9–2.0 as read and 1.9–2.2 as likely meant share 1.9–2.0."""
    for thickness in [t for t in GRID_MM if 0.6 < t <= 0.8]:
        assert 1.9 <= start_value(Schedule.HOT_DIP, "force_kN", thickness) <= 2.0


@pytest.mark.parametrize("schedule", Schedule)
@pytest.mark.parametrize("thickness_mm", [0.399, 3.001, 5.0, float("nan")])
def test_outside_the_table_nothing_is_published(schedule, thickness_mm):
    with pytest.raises(NoAdviceError, match=r"outside ISO 14373:2015 Table B\.[12].*0\.4 to 3 mm"):
        row_for(schedule, thickness_mm)
