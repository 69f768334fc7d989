"""Every log comes back from both kinds of file, record for record and to the last figure."""

import csv
import io
import json
import zipfile

import pytest
from exchange_makers import header_of, whole_logs
from hypothesis import given

from advisor.csv_cells import guarded
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.kinds import KIND_OF, KINDS
from advisor.exchange.log_file import LogFile
from advisor.exchange.tables import write_tables

WAYS = pytest.mark.parametrize("write", [write_json_lines, write_tables])


def written(write, records):
    file = io.BytesIO()
    write(file, header_of(records), records)
    return file


@WAYS
@given(whole_logs())
def test_all_records_come_back_in_their_order(write, records):
    file = LogFile(written(write, records))
    assert file.header == header_of(records)
    assert [placed.record for placed in file.records()] == records
    assert file.problems() == []
    assert [placed.record for placed in file.records()] == records


@given(whole_logs())
def test_json_lines_are_plain_json_with_units_in_the_names(records):
    first, *lines = written(write_json_lines, records).getvalue().splitlines()
    assert json.loads(first)["kind"] == "log"
    for line, record in zip(lines, records, strict=True):
        read = json.loads(line)
        kind = KIND_OF[type(record)]
        assert read.pop("kind") == kind.name
        assert list(read) == kind.columns
        for name, value in read.items():
            if name in ("current_kA", "weld_ms", "face_mm", "degC"):
                assert value is None or isinstance(value, float)
            if name.endswith("_at"):
                assert value is None or value.endswith("+00:00")


@given(whole_logs())
def test_no_cell_begins_like_a_formula(records):
    with zipfile.ZipFile(written(write_tables, records)) as packed:
        for kind in KINDS:
            text = packed.read(f"{kind.name}.csv").decode()
            for row in csv.reader(io.StringIO(text, newline="")):
                assert all(cell[:1] not in set("=+@\t\r＝＋－＠") for cell in row)
                assert all(guarded(cell) == cell or cell[:1] == "'" for cell in row)


def test_the_two_ways_hold_the_same_columns():
    names = [kind.name for kind in KINDS]
    with zipfile.ZipFile(written(write_tables, [])) as packed:
        assert packed.namelist() == ["log.json", *(f"{name}.csv" for name in names)]
        for kind in KINDS:
            first = packed.read(f"{kind.name}.csv").decode()
            assert first.strip().split(",") == kind.columns
