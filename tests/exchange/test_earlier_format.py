"""Files of version 1, which knew nothing foretold and no dressing, are read; others hold it all."""

import csv
import io
import json
import zipfile
from dataclasses import replace

import pytest
from exchange_makers import GOOD, NOW, header_of, whole_logs
from hypothesis import given, settings

from advisor.coupons.foretold import Foretold
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.header import FORMAT_VERSION
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.log_file import LogFile
from advisor.exchange.tables import write_tables
from advisor.people.roles import Role
from advisor.weld.machine import Machine

RULES = ShopRules(dress_after_welds=120)
RECORDS = [
    r.Person("Kim", Role.LEAD, None),
    Machine("gun 1", 13.0, 5.0),
    r.RulesVersion(1, RULES, "Kim", NOW),
    r.CouponRevision(1, 1, GOOD, judge(GOOD, RULES.judging), 1, "", "", "", "Kim", NOW),
    r.CouponForetold(1, Foretold(0.9, 0.05, 12), NOW),
]
NEW_KIND, NEW_FIELD = "foretold", "dress_after_welds"


def json_lines(records, *, version=1, kind=True, count=True, field=True):
    """Return a file without what the later format added, of the version that is asked for."""
    file = io.BytesIO()
    write_json_lines(file, header_of(records), records)
    header, *lines = map(json.loads, file.getvalue().splitlines())
    header["format_version"] = version
    if count:
        del header["records"][NEW_KIND]
    if kind:
        lines = [line for line in lines if line["kind"] != NEW_KIND]
    for line in lines:
        if field and line["kind"] == "rules":
            del line[NEW_FIELD]
    return io.BytesIO("\n".join(map(json.dumps, [header, *lines])).encode())


def tables(records, *, version=1, kind=True, count=True, field=True, change=None):
    """Return the same as a zip; `change` alters its files by name."""
    file, made = io.BytesIO(), io.BytesIO()
    write_tables(file, header_of(records), records)
    with zipfile.ZipFile(file) as packed:
        files = {name: packed.read(name).decode() for name in packed.namelist()}
    header = json.loads(files["log.json"])
    header["format_version"] = version
    if count:
        del header["records"][NEW_KIND]
    files["log.json"] = json.dumps(header)
    if kind:
        del files[f"{NEW_KIND}.csv"]
    if field:
        files["rules.csv"] = without_column(files["rules.csv"], NEW_FIELD)
    for name, alter in (change or {}).items():
        files[name] = alter(files[name])
    with zipfile.ZipFile(made, "w") as packed:
        for name, text in files.items():
            packed.writestr(name, text)
    return made


def without_column(text, name):
    rows = list(csv.reader(io.StringIO(text, newline="")))
    place = rows[0].index(name)
    out = io.StringIO(newline="")
    csv.writer(out).writerows([*row[:place], *row[place + 1 :]] for row in rows)
    return out.getvalue()


WAYS = pytest.mark.parametrize("way", [json_lines, tables])


def as_version_1(records):
    """Return what version 1 could say of some records."""
    kept = [each for each in records if not isinstance(each, r.CouponForetold)]
    return [
        replace(each, rules=replace(each.rules, dress_after_welds=None))
        if isinstance(each, r.RulesVersion)
        else each
        for each in kept
    ]


def read(file):
    return [placed.record for placed in LogFile(file).records()]


@WAYS
@settings(max_examples=15)
@given(whole_logs())
def test_a_file_of_version_1_is_read(way, records):
    file = way(records)
    assert read(file) == as_version_1(records)
    assert LogFile(file).problems() == []
    assert LogFile(file).header.records[NEW_KIND] == 0


@WAYS
def test_what_is_written_is_of_the_newest_version_and_says_it_all(way):
    file = way(RECORDS, version=FORMAT_VERSION, kind=False, count=False, field=False)
    assert read(file) == RECORDS
    assert not LogFile(file).header.is_earlier
    assert LogFile(way(RECORDS)).header.is_earlier


@WAYS
@pytest.mark.parametrize(
    ("lacks", "words"),
    [
        ({"field": True}, "dress_after_welds of the rules is missing; every one is written"),
        ({"count": True}, "the first record has no foretold; the file is not whole"),
    ],
)
def test_version_2_demands_every_field_and_every_count(way, lacks, words):
    file = way(RECORDS, version=2, **({"kind": False, "count": False, "field": False} | lacks))
    with pytest.raises(InputError, match=words):
        read(file)


def test_version_2_demands_every_record_that_it_counts():
    file = json_lines(RECORDS, version=2, count=False, field=False)
    with pytest.raises(InputError, match=r"has 0 records of the kind foretold and says that .* 1"):
        read(file)


def test_version_2_demands_every_table_even_one_without_rows():
    for records in (RECORDS, RECORDS[:-1]):
        file = tables(records, version=2, count=False, field=False)
        with pytest.raises(InputError, match=r"^the zip has no file foretold\.csv; export the log"):
            read(file)


def test_a_column_twice_is_seen_where_another_may_lack():
    file = tables(RECORDS, change={"rules.csv": lambda text: text.replace("k,", "k,k,", 1)})
    with pytest.raises(InputError, match=r"rules\.csv, line 1: it names a column twice"):
        read(file)


@WAYS
@pytest.mark.parametrize("version", [0, 3, "1", 1.0, None])
def test_other_versions_are_refused(way, version):
    with pytest.raises(InputError, match=r"is of format version .*; this program reads versions 1"):
        LogFile(way(RECORDS, version=version))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"chance_sound": 1.5}, "the chance of a sound weld is 1.5; it must be 0 to 1"),
        ({"chance_expulsion": -0.1}, "the chance of expulsion is -0.1; it must be 0 to 1"),
        ({"coupons_known": -1}, "coupons_known is -1; it must be a whole number"),
        ({"chance_sound": None}, "chance_sound is None; it must be a finite number"),
        ({"coupon": 2}, "coupon #2 revision 1 does not stand before it"),
        ({"coupon": 0}, "coupon is 0; it must be a whole number from 1"),
    ],
)
def test_what_cannot_have_been_foretold_is_refused(change, words):
    file = json_lines(RECORDS, version=2, kind=False, count=False, field=False)
    *lines, last = file.getvalue().splitlines()
    lines.append(json.dumps(json.loads(last) | change).encode())
    with pytest.raises(InputError, match=f"^line 6: {words}"):
        read(io.BytesIO(b"\n".join(lines)))


def test_a_coupon_is_foretold_once():
    twice = [*RECORDS, RECORDS[-1]]
    file = json_lines(twice, version=2, kind=False, count=False, field=False)
    with pytest.raises(InputError, match="line 7: what was foretold of #1 comes twice; it must co"):
        read(file)
