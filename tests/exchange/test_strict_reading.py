"""What is no record of this format is refused, with its line and what would be right."""

import io
import json
import re
import zipfile
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from exchange_makers import GOOD, NOW, header_of

from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.json_lines import LONGEST_LINE, write_json_lines
from advisor.exchange.kinds import KINDS, REVISIONS
from advisor.exchange.log_file import LogFile
from advisor.exchange.tables import write_tables
from advisor.people.roles import Role
from advisor.weld.machine import Machine

RULES = ShopRules()
RECORDS = [
    r.Person("Kim", Role.LEAD, None),
    Machine("gun 1", 13.0, 5.0),
    r.RulesVersion(1, RULES, "Kim", NOW),
    r.CouponRevision(1, 1, GOOD, judge(GOOD, RULES.judging), 1, "", "", "", "Kim", NOW),
]
COUPON = 5  # line


def lines(records=RECORDS, **says):
    file = io.BytesIO()
    write_json_lines(file, header_of(records, **says), records)
    return file.getvalue().split(b"\n")[:-1]


def opened(parts):
    return LogFile(io.BytesIO(b"\n".join(parts) + b"\n"))


def with_value(name, plain):
    """Return the file with another value in the coupon, given as JSON text."""
    parts = lines()
    text = parts[COUPON - 1].decode()
    pattern = rf'("{name}":)("(?:[^"\\]|\\.)*"|\[.*?\]\]|[^,}}]*)'
    new, count = re.subn(pattern, lambda found: found[1] + plain, text)
    assert count == 1
    parts[COUPON - 1] = new.encode("utf-8", "surrogatepass")
    return opened(parts)


def test_the_file_that_is_changed_below_is_good():
    file = with_value("current_kA", "9.5")
    assert [placed.record for placed in file.records()] == RECORDS
    assert [placed.where for placed in file.records()][-1] == "line 5"


@pytest.mark.parametrize(
    ("name", "plain", "words"),
    [
        ("current_kA", '"9.5"', "current_kA is '9.5'; it must be a finite number such as 9.5"),
        ("current_kA", "true", "current_kA is True; it must be a finite number"),
        ("current_kA", "null", "current_kA is None; it must be a finite number"),
        ("current_kA", "NaN", "it holds NaN, which is no number; a lost reading is null"),
        ("current_kA", "-Infinity", "it holds -Infinity, which is no number"),
        ("current_kA", "1e999", "it holds 1e999, a number that is too large"),
        ("current_kA", "9" * 399, "current_kA is 999.* …; it must be a finite number"),
        ("current_kA", "9" * 5000, "it holds a whole number of 5,000 digits; that is too large"),
        ("current_kA", "[9.5]", r"current_kA is \[9.5\]; it must be a finite number"),
        ("current_kA", "90", "weld current is 90 kA; it must be 0.3 to 40 kA"),
        ("expulsion", '"yes"', "expulsion is 'yes'; it must be true or false"),
        ("expulsion", "1", "expulsion is 1; it must be true or false"),
        ("pulses", "1.0", "pulses is 1.0; it must be a whole number from 1 to 20"),
        ("pulses", "21", "pulses is 21; it must be a whole number from 1 to 20"),
        ("pulses", "true", "pulses is True; it must be a whole number"),
        ("notes", "7", "notes is 7; it must be a text"),
        ("notes", '"a\\u0000b"', r"notes holds a letter .* \(code 0000, letter 2\)"),
        ("notes", '"\\ud83d"', r"notes holds a letter .* \(code D83D, letter 1\)"),
        ("notes", '"\ud83d"', r"byte \d+ is no UTF-8; the file is damaged"),
        ("notes", f'"{"x" * 50001}"', "notes has 50,001 letters; at most 50,000 are kept"),
        ("job", f'"{"x" * 201}"', "job has 201 letters; at most 200"),
        ("test", '"Peel"', "test is 'Peel'; it must be one of peel, chisel"),
        ("made_at", '"2025-06-20T10:00:00"', "made_at is .*; it must be a date and time with its"),
        ("made_at", '"0001-01-01T00:00+05:00"', "made_at is .*, in the years 1900 to 2999"),
        ("made_at", "0", "made_at is 0; it must be a date and time with its offset"),
        ("outcome", '"maybe"', "outcome is 'maybe'; it must be one of pass, fail, open"),
        ("reasons", '[["pass"]]', r"reasons is \['pass'\]; it must be a list of lists \[outcome,"),
        ("reasons", '[["so","x"]]', "reasons: outcome is 'so'; it must be one of pass, fail"),
        ("rules", "2", "rules 2 does not stand before it"),
        ("welder", '"Robin"', "person Robin does not stand before it"),
        ("machine", '"gun 2"', "machine gun 2 does not stand before it"),
        ("number", "2", "coupon #2 is above the 1 coupons that the file says it has"),
        ("revision", "2", "revision 2 of coupon #1 follows on nothing; revisions follow each"),
        ("sheet2_family", "null", "sheet 2 is given in part only; give all of it or nothing"),
        ("sheet4_grade", '"x"', "sheet 3 is empty, but a later one is not"),
        ("sheet3_grade", '"x"', "sheet 3 is given in part only"),
        ("interface3_failure", '"button"', "interface 3 has a result, but the stack has only 1"),
        ("kind", '"coupon"', "kind is 'coupon'; it must be one of person, machine"),
        ("kind", "[]", r"kind is \[\]; it must be one of"),
    ],
)
def test_a_value_of_another_type_is_refused_with_line_and_reason(name, plain, words):
    file = with_value(name, plain)
    with pytest.raises(InputError, match=rf"^line 5: {words}"):
        list(file.records())
    assert len(file.problems()) == 1
    assert re.match(f"line 5: {words}", file.problems()[0])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d | {"colour": "red"}, "a coupon revision has no 'colour'; take it away"),
        (
            lambda d: {k: v for k, v in d.items() if k != "job"},
            "job of the coupon revision is missing; every one is written",
        ),
        (lambda d: {k: v for k, v in d.items() if k != "kind"}, "it is no record; every line is"),
        (lambda d: [d], "it is no record; every line is a JSON object with its kind"),
    ],
)
def test_the_columns_are_those_of_the_kind_and_no_others(change, words):
    parts = lines()
    parts[COUPON - 1] = json.dumps(change(json.loads(parts[COUPON - 1]))).encode()
    with pytest.raises(InputError, match=f"^line 5: {words}"):
        list(opened(parts).records())


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b'{"kind":"job","kind":"job"}', "it names 'kind' twice; take one away"),
        (b"[" * 100_000, "it is nested too deeply"),
        (b'{"kind":"job"', "it is no JSON"),
        (b"\xff\xfe", "byte 1 is no UTF-8"),
        (b"x" * (LONGEST_LINE + 1), "is longer than 1,000,000 bytes"),
        (b"x" * (3 * LONGEST_LINE), "is longer than 1,000,000 bytes"),
    ],
)
def test_a_broken_line_is_named(line, words):
    parts = lines()
    parts.insert(2, line)
    with pytest.raises(InputError, match=f"^line 3:? {words}"):
        list(opened(parts).records())


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ((0, 1, 2, 3), "the file has 0 records of the kind coupon_revision and says .* are 1"),
        (
            (0, 1, 3, 2, 4),
            "line 4: a record of the kind machine stands behind one of the kind rules",
        ),
        ((0, 1, 2, 3, 4, 4), "line 6: revision 1 of coupon #1 follows on revision 1"),
        ((0, 1, 1, 2, 3, 4), "line 3: person Kim comes twice; it must come once"),
        ((0, 2, 3, 4), "line 4: person Kim does not stand before it"),
    ],
)
def test_lines_cut_out_doubled_or_moved_are_noticed(order, words):
    parts = lines()
    with pytest.raises(InputError, match=f"^{words}"):
        list(opened([parts[n] for n in order]).records())


def test_several_problems_are_told_at_once_and_no_more_than_asked_for():
    parts = lines([RECORDS[0]] + [Machine(f"gun {n}", 13.0, 5.0) for n in range(9)])
    parts = [part.replace(b'"mains_hz":50.0', b'"mains_hz":"50"') for part in parts]
    found = opened(parts).problems(most=4)
    assert [text.partition(":")[0] for text in found] == ["line 3", "line 4", "line 5", "line 6"]


@pytest.mark.parametrize(
    ("first", "words"),
    [
        (b"", "the file is empty; choose a file that this program has exported"),
        (b"made_at,welder\n2026,Kim", "line 1: it is no JSON"),
        (b'{"kind":"machine"}', "line 1: the file does not begin as the whole log"),
        (b"[]", "line 1: the file does not begin as the whole log of a shop does"),
        (b'{"kind":"log","format_version":3}', "is of format version 3; this program reads versi"),
        (b'{"kind":"log","format_version":true}', "is of format version True"),
        (b'{"kind":"log","format_version":1}', "the first record has no shop; the file is not wh"),
    ],
)
def test_what_is_no_whole_log_is_refused_at_once(first, words):
    with pytest.raises(InputError, match=words):
        LogFile(io.BytesIO(first))


def test_the_first_record_is_read_as_strictly():
    header = json.loads(lines()[0])
    for change, words in (
        ({"coupons": "1"}, "coupons is '1'; it must be a whole number"),
        ({"more": 1}, "the first record has 'more', which is not known"),
        ({"records": []}, "records must name the number of records of each kind"),
        ({"records": {**header["records"], "x": 1}}, "has 'x', which is not known"),
    ):
        with pytest.raises(InputError, match=words):
            LogFile(io.BytesIO(json.dumps(header | change).encode()))


# --- zip ----------------------------------------------------------------------------------------


def packed(change=None, **options):
    """Return a zip whose files `change` may alter: from names and bytes to others."""
    good = io.BytesIO()
    write_tables(good, header_of(RECORDS), RECORDS)
    with zipfile.ZipFile(good) as read:
        files = {name: read.read(name) for name in read.namelist()}
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, **options) as new:
        for name, data in (change(files) if change else files).items():
            new.writestr(name, data)
    return made


def with_cell(name, old, new):
    def change(files):
        assert files[name].count(old) == 1
        return files | {name: files[name].replace(old, new)}

    return packed(change)


def test_the_zip_that_is_changed_below_is_good():
    assert [placed.record for placed in LogFile(packed()).records()] == RECORDS


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("machine.csv", b",yes,", b",true,", "line 2: is_inverter is 'true'; it must be true or f"),
        ("machine.csv", b",50.0,", b",nan,", "line 2: mains_hz is 'nan'; it must be a finite num"),
        ("machine.csv", b",50.0,", b",1e999,", "line 2: mains_hz is inf; it must be a finite"),
        ("machine.csv", b",50.0,", b',"50,0",', "line 2: mains_hz is '50,0'; it must be a fini"),
        ("machine.csv", b",50.0,", b",,", "line 2: mains_hz is ''; it must be a finite number"),
        ("machine.csv", b",50.0,", b",'50,", 'line 2: mains_hz is "\'50"; it must be a finite'),
        ("machine.csv", b",50.0,", b",50,0,", "line 2: the line has 10 cells, the first line 9"),
        ("machine.csv", b"gun 1", b"gun\0", "line 2: name holds a letter that cannot be stored"),
        ("machine.csv", b"gun 1", b"gun\xff", "machine.csv is damaged or cut off .*utf-8"),
        ("machine.csv", b"gun 1", b'"gun', "line 2 is broken: unexpected end of data"),
        ("machine.csv", b"gun 1", b'"gun" 1', "line 2 is broken: ',' expected after"),
        ("machine.csv", b"gun 1", b"x" * 200_000, "line 2 is broken: field larger than field li"),
        ("machine.csv", b"mains_hz", b"hz", "line 1: mains_hz of the machine is missing"),
        ("machine.csv", b"mains_hz", b"mains_hz,x", "line 1: a machine has no 'x'; take it away"),
        ("machine.csv", b"mains_hz", b"mains_hz,name", "line 1: it names a column twice"),
        ("rules.csv", b"\r\n1,", b"\r\n00000000001,", "line 2: number is '00000000001'; it must"),
        ("rules.csv", b"\r\n1,", b"\r\n-1,", "line 2: number is '-1'; it must be a whole number"),
        ("coupon_revision.csv", b'"[[', b'"[[[', "line 2: reasons is .*; it is no JSON"),
        ("log.json", b'"log"', b"log", "log.json: it is no JSON"),
        ("log.json", b'"log"', b'"zip"', "log.json: the file does not begin as the whole log"),
    ],
)
def test_a_changed_table_is_refused_with_file_and_line(name, old, new, words):
    where = "" if words.startswith(("log.json", "machine.csv")) else f"{name}, "
    with pytest.raises(InputError, match=f"^{where}{words}"):
        list(LogFile(with_cell(name, old, new)).records())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda f: {}, "the zip has no file adhesive.csv; export the log again"),
        (lambda f: {k: v for k, v in f.items() if k != "job.csv"}, "the zip has no file job.csv"),
        (lambda f: f | {"../../etc/x": b""}, r"the zip holds '../../etc/x', which does not belong"),
        (lambda f: f | {"job.csv": b""}, "job.csv is empty; its first line names the columns"),
        (
            lambda f: f | {f"{n}.csv": b"" for n in range(200)},
            "the zip holds 218 files; a log has 18: choose another file",
        ),
        (
            lambda f: f | {"job.csv": b"0" * 20_000_000},
            "job.csv would unpack to 20,000,000 bytes from 19,4.*; no log does",
        ),
    ],
)
def test_a_zip_that_is_no_log_or_a_trap_is_refused(change, words):
    with pytest.raises(InputError, match=words):
        list(LogFile(packed(change)).records())


def test_a_row_without_end_is_not_read_to_its_end():
    row = ",".join(f'"{n * 7919 % 1_000_003}\n"' for n in range(200_000)).encode()
    made = packed(lambda files: files | {"job.csv": b"number,opened_at,closed_at\r\n" + row})
    with pytest.raises(InputError, match=r"job.csv, line \d+ is part of a row of more than 1,000,"):
        list(LogFile(made).records())


def test_a_zip_with_a_file_twice_a_password_or_another_packing_is_refused():
    twice = packed()
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(twice, "a") as more:
        more.writestr("job.csv", b"")
    entry = b"PK\x01\x02\x14\x03\x14\0"  # in the list at the end of a zip; flags follow
    locked = packed().getvalue().replace(entry + b"\0\0", entry + b"\1\0")
    other = io.BytesIO()
    with zipfile.ZipFile(packed()) as read, zipfile.ZipFile(other, "w", zipfile.ZIP_LZMA) as new:
        for name in read.namelist():
            new.writestr(name, read.read(name))
    for file, words in (
        (twice, "the zip holds a file twice"),
        (io.BytesIO(locked), "the zip is locked with a password; pack it again without one"),
        (other, "packed in a way that is not read; pack it again as plain zip"),
    ):
        with pytest.raises(InputError, match=words):
            LogFile(file)


def test_a_zip_cut_off_anywhere_is_refused():
    data = packed().getvalue()
    for end in range(2, len(data) - 1, 97):
        with pytest.raises(InputError, match="damaged or cut off"):
            LogFile(io.BytesIO(data[:end]))


def test_a_table_saved_again_by_a_spreadsheet_is_read():
    """With a mark of the encoding, bare line ends, and columns in another order."""

    def change(files):
        head, row = files["person.csv"].decode().split("\r\n")[:2]
        turned = [",".join(reversed(text.split(","))) for text in (head, row)]
        return files | {"person.csv": ("\ufeff" + "\n".join(turned) + "\n").encode()}

    assert [placed.record for placed in LogFile(packed(change)).records()] == RECORDS


def test_moments_with_another_offset_are_the_same_moments():
    file = with_value("made_at", '"2025-06-20T12:00:00+02:00"')
    (revision,) = [p.record for p in file.records() if isinstance(p.record, r.CouponRevision)]
    assert revision.coupon.made_at == datetime(2025, 6, 20, 10, tzinfo=UTC)


def test_every_kind_has_its_unit_in_the_names_of_its_numbers():
    units = (
        *("_kA", "_ms", "_kN", "_mm", "_min", "_degC", "_hz", "_px", "_days", "_kN_per_bar"),
        *("chance_sound", "chance_expulsion"),
    )
    bare = {"k", "largest_aspect", "measured", "degC"}
    for kind in KINDS:
        for field in kind.fields:
            if type(field).__name__ == "Number":
                assert field.name.endswith(units) or field.name in bare, (kind.name, field.name)
    assert "current_kA" in REVISIONS.columns


def test_welds_until_dressing_are_none_or_those_that_the_rules_allow():
    rules = r.RulesVersion(1, replace(RULES, dress_after_welds=120), "Kim", NOW)
    parts = lines([*RECORDS[:2], rules, RECORDS[3]])

    def with_welds(plain):
        return opened([line.replace(b'welds":120', b'welds":' + plain) for line in parts])

    for plain, words in ((b"0", "a whole number from 1"), (b"5001", "5001 welds; give 1 to 5,000")):
        with pytest.raises(InputError, match=f"^line 4: .*{words}"):
            list(with_welds(plain).records())
    assert [placed.record for placed in with_welds(b"null").records()] == RECORDS
