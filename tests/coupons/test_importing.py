"""Reading other people's CSV: maps, units, lost readings, and rows that cannot be used."""

from datetime import UTC, datetime

import pytest

from advisor.coupons.flat import COLUMNS, to_row
from advisor.coupons.importing import DECIDING, From, own_map, read_coupons, read_table
from advisor.errors import InputError
from advisor.units import Calibration
from advisor.weld.failure import FailureType

HEADER = "psi,ms,A,t1,t2,d,kind\n"
MAP = {
    "made_at": From(constant="2026-03-02T10:00+00:00"),
    "welder": From(constant="A. Welder"),
    "machine": From(constant="Bench gun"),
    "face_mm": From(constant="5"),
    "sheet1_thickness_mm": From("t1"),
    "sheet2_thickness_mm": From("t2"),
    "current_kA": From("A", unit="A"),
    "weld_ms": From("ms"),
    "force_kN": From("psi", unit="psi"),
    "interface1_largest_mm": From("d"),
    "interface1_failure": From("kind", words={"Good": "button", "None": "no_fusion"}, other=""),
    "expulsion": From("kind", words={"Spit": "yes"}, other="no"),
}
CALIBRATION = Calibration(mains_hz=60, force_kN_per_bar=0.3)


def read(body, columns=MAP, header=HEADER):
    return read_coupons(
        read_table((header + body).encode()), columns, CALIBRATION, frozenset({"-99"})
    )


def test_units_words_and_a_single_diameter():
    reading = read("60,400,3823.58,0.618,0.62,3.07,Good\n")
    (coupon,) = reading.coupons
    assert coupon.setting.current_kA == pytest.approx(3.82358, abs=1e-9)
    # 1 psi = 0.0689475729 bar (NIST SP 811); 0.3 kN/bar is this test's own calibration.
    assert coupon.setting.force_kN == pytest.approx(60 * 0.0689475729 * 0.3, abs=1e-7)
    assert coupon.results[0].smallest_mm == coupon.results[0].largest_mm == 3.07
    assert not reading.problems


def test_lost_reading_is_no_diameter_and_never_zero():
    (coupon,) = read("60,400,3800,0.6,0.6,-99,Good\n").coupons
    assert coupon.results[0].size_mm is None


def test_expulsion_word_is_expulsion():
    (coupon,) = read("60,400,3800,0.6,0.6,3.2,Spit\n").coupons
    assert coupon.expulsion
    assert coupon.results[0].failure is None


def test_no_fusion_without_diameter():
    (coupon,) = read("60,400,3800,0.6,0.6,,None\n").coupons
    assert coupon.results[0].failure is FailureType.NO_FUSION


def test_bad_rows_are_named_with_line_and_reason_and_good_ones_are_kept():
    reading = read(
        "60,400,3800,0.6,0.6,3.2,Good\n"
        "\n"
        "60,400,many,0.6,0.6,3.2,Good\n"
        "60,400,3800,0.024,0.6,3.2,Good\n"
        "60,400,3800\n"
        "60,400,3800,0.6,2.0,3.2,Good\n"
    )
    assert len(reading.coupons) == 1
    assert [p.line for p in reading.problems] == [4, 5, 6, 7]
    said = [p.reason for p in reading.problems]
    assert "A is 'many'; it must be a number" in said[0]
    assert "if that was inches it is 0.61 mm" in said[1]
    assert "3 cells, the header 7" in said[2]
    assert "a ratio of 3.33:1" in said[3]


def test_pressure_without_calibration_says_what_is_missing():
    table = read_table((HEADER + "60,400,3800,0.6,0.6,3.2,Good\n").encode())
    (problem,) = read_coupons(table, MAP).problems
    assert "needs the machine's calibration in kN per bar" in problem.reason


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters(delimiter):
    text = (HEADER + "60,400,3800,0.6,0.6,3.2,Good\n").replace(",", delimiter)
    assert read_table(text.encode()).header == ("psi", "ms", "A", "t1", "t2", "d", "kind")


def test_decimal_comma_with_semicolons():
    table = read_table(b"psi;ms;A;t1;t2;d;kind\n60;400;3800;0,6;0,6;3,2;Good\n")
    (coupon,) = read_coupons(table, MAP, CALIBRATION).coupons
    assert coupon.stack.thicknesses_mm == (0.6, 0.6)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file has no rows"),
        (b"a,b\n", "the file has no rows"),
        (b"a,a\n1,2\n", "names the column 'a' twice"),
        (b"\xff\xfe\x00", "not UTF-8 text"),
        (b"a\0,b\n1,2\n", "not text"),
        (b'a,b\n"1,2\n', "line 2 of the file is broken"),
        (b"x" * 10_000_001, "10.0 MB; at most 10 MB"),
    ],
)
def test_files_that_cannot_be_read_say_why(data, words):
    with pytest.raises(InputError, match=words):
        read_table(data)


def test_map_to_an_unknown_target_or_column_is_refused():
    table = read_table(HEADER.encode() + b"1,2,3,4,5,6,7\n")
    with pytest.raises(InputError, match="'colour' is no column of a coupon"):
        read_coupons(table, {"colour": From("psi")})
    with pytest.raises(InputError, match="no column 'kA'; it has: psi, ms"):
        read_coupons(table, {"current_kA": From("kA")})


def test_own_columns_map_to_themselves():
    (coupon,) = read("60,400,3800,0.6,0.6,3.2,Good\n").coupons
    row = to_row(coupon)
    text = ",".join(COLUMNS) + "\n" + ",".join(f'"{row[name]}"' for name in COLUMNS) + "\n"
    table = read_table(text.encode())
    assert read_coupons(table, own_map(table.header)).coupons == (coupon,)


def test_voided_rows_of_the_tool_s_own_export_stay_out():
    header = HEADER.replace("\n", ",voided\n")
    body = "60,400,3800,0.6,0.6,3.2,Good,wrong sheet\n60,400,3800,0.6,0.6,3.2,Good,\n"
    reading = read(body, header=header)
    assert (len(reading.coupons), reading.voided, reading.problems) == (1, 1, ())


def test_what_decides_coverage_is_not_invented():
    table = read_table((HEADER + "60,400,3800,0.6,0.6,3.2,Good\n").encode())
    (problem,) = read_coupons(table, MAP, CALIBRATION, needed=DECIDING).problems
    assert "sheet1_family, sheet1_upper" in problem.reason
    assert "not given; say what the coupon was" in problem.reason


def test_a_date_in_the_future_is_a_problem_of_its_row():
    table = read_table((HEADER + "60,400,3800,0.6,0.6,3.2,Good\n").encode())
    earlier = datetime(2026, 3, 1, tzinfo=UTC)
    (problem,) = read_coupons(table, MAP, CALIBRATION, now=earlier).problems
    assert problem.line == 2
    assert "which is in the future" in problem.reason
