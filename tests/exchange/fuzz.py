"""Damaged files of every kind: each is refused in a sentence, or read to records that come back.

``python tests/exchange/fuzz.py`` runs 10,000 examples of each kind of file; the suite runs 150.
"""

import csv
import hashlib
import io
import json
import re
import shutil
import sys
import tempfile
import zipfile
from contextlib import contextmanager
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from exchange_makers import BY, NOW, fill, header_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from advisor.coupons.flat import COLUMNS, to_row
from advisor.coupons.importing import DECIDING, own_map, read_coupons, read_table
from advisor.csv_cells import guarded_row
from advisor.errors import AdvisorError
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.log_file import LogFile
from advisor.exchange.tables import write_tables
from advisor.store.base import Trust
from advisor.store.log import open_log

#: What is put in place of a value or between two bytes.
TOKENS = [
    *(b"null", b"true", b"false", b"yes", b"no", b"0", b"-0", b"-1", b"1.5", b"1e308", b"-1e999"),
    *(b"NaN", b"Infinity", b"-inf", b"1_0", b"9" * 30, b"9" * 5000, b"0x10", b"1e-320", b"'5"),
    *(b'""', b'"x"', b'"\\ud800"', b'"\\u0000"', b'"\\udfff\\ud800"', b"[]", b"{}"),
    *(b'[["pass","x"]]', b"[" * 2000, b'{"a":' * 2000, b"[[1,1],[2,2]]", b"[[1e999,1]]"),
    *(b'"2026-02-30T00:00+00:00"', b'"0001-01-01T00:00:00+14:00"', b"2026-01-01T00:00:00Z"),
    *(b'"9999-12-31T23:59:59-14:00"', b"0001-01-01T00:00+14:00", b"9999-12-31T23:59-14:00"),
    *(b"\xff", b"\xc0\x80", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\0", b"\r", b"\n", b"\r\n"),
    *(b",", b'"', b'""', b"'", b"=", b";", b"\t", b"\\", b"\xef\xbb\xbf", b"\xe2\x80\xa8"),
    *(b"\xc2\x85", "＝1".encode(), "٣".encode(), "１".encode(), b"button", b"peel", b"cured"),
    *(b"0.4", b"3.01", b"none", b"n/a", b"-", b"x" * 300, b"y" * 140_000, b"z" * 1_100_000),
    *(b'"\xe2\x80\xae\xf0\x9f\x94\xa5"', b'" a "', b'"=1+1"', b'"\'=1"', b'"\\r\\n\\t"', b"Kim"),
]
_VALUES = {
    "json": re.compile(rb'(?<=":)(?:"(?:[^"\\]|\\.)*"|\[\[.*?\]\]|[^,}\]]+)'),
    "key": re.compile(rb'"[A-Za-z0-9_]+"(?=:)'),
    "cell": re.compile(rb"(?<=[,\n])[^,\r\n]*"),
}
PLACES = st.integers(0, 1_000_000)


def _flip(data, place, other, token):
    place %= len(data)
    return data[:place] + bytes([data[place] ^ (1 << other % 8)]) + data[place + 1 :]


def _cut(data, place, other, token):
    place %= len(data)
    return data[:place] + data[place + other % 40 :]


def _end(data, place, other, token):
    return data[: place % len(data)]


def _insert(data, place, other, token):
    place %= len(data)
    return data[:place] + token + data[place:]


def _replace(kind):
    def change(data, place, other, token):
        found = list(_VALUES[kind].finditer(data))
        if not found:
            return data
        here = found[place % len(found)]
        return data[: here.start()] + token + data[here.end() :]

    return change


def _swap(kind):
    """Put one value or key where another stands, and that one there."""

    def change(data, place, other, token):
        found = list(_VALUES[kind].finditer(data))
        if len(found) < 2:
            return data
        one, two = sorted((place % len(found), other % len(found)))
        one, two = found[one], found[two]
        if one.end() > two.start():
            return data
        between = data[one.end() : two.start()]
        return data[: one.start()] + two[0] + between + one[0] + data[two.end() :]

    return change


def _lines(data, place, other, token):
    """Double a line, move it, or take it away."""
    lines = data.split(b"\n")
    line = lines.pop(place % len(lines))
    if other % 3 == 0:
        return b"\n".join(lines)
    lines.insert(other % (len(lines) + 1), line)
    if other % 3 == 1:
        lines.insert(place % (len(lines) + 1), line)
    return b"\n".join(lines)


CHANGES = (
    *(_flip, _cut, _end, _insert, _insert, _lines, _lines),
    *(_replace(kind) for kind in _VALUES),
    *(_swap(kind) for kind in _VALUES),
)


#: Texts and other values that stand where a program would not have put them.
ODD_TEXTS = (
    st.text(st.characters(), max_size=6)
    | st.text("'=+-@\t\r\n ,;\"x", max_size=4)
    | st.text("\0\ud800\udfffx", min_size=1, max_size=2)
)
NUMBERS = (
    st.floats() | st.integers() | st.integers(-3, 40) | st.integers(1, 100).map(lambda n: n / 10)
)
PLAIN = st.none() | st.booleans() | NUMBERS | ODD_TEXTS | st.lists(st.lists(NUMBERS | ODD_TEXTS))


def _like(value):
    """Return values of the same type, so that more than the type is looked at."""
    if isinstance(value, str):
        return ODD_TEXTS
    return NUMBERS if isinstance(value, float) else PLAIN


@st.composite
def damaged(draw, data):
    """Draw a file that was changed in one to three places, whatever they are."""
    steps = st.tuples(st.sampled_from(CHANGES), PLACES, PLACES, st.sampled_from(TOKENS))
    for change, *where in draw(st.lists(steps, min_size=1, max_size=3)):
        data = change(data, *where) if data else data
    return data


@st.composite
def edited_lines(draw, data):
    """Draw a file of JSON Lines with other values in one to three places."""
    lines = data.rstrip(b"\n").split(b"\n")
    for _ in range(draw(st.integers(1, 3))):
        number = draw(st.integers(0, len(lines) - 1))
        record = json.loads(lines[number])
        key = draw(st.sampled_from(sorted(record)))
        record[key] = draw(_like(record[key]) | PLAIN)
        lines[number] = json.dumps(record).encode()
    return b"\n".join(lines)


@st.composite
def edited_cells(draw, data):
    """Draw a CSV file with other texts in one to three cells."""
    rows = list(csv.reader(io.StringIO(data.decode(), newline="")))
    for _ in range(draw(st.integers(1, 3))):
        row = rows[draw(st.integers(0, len(rows) - 1))]
        row[draw(st.integers(0, len(row) - 1))] = draw(ODD_TEXTS | NUMBERS.map(repr))
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue().encode("utf-8", "surrogatepass")


@st.composite
def damaged_zips(draw, data):
    """Draw a zip of which one file was changed before packing, or the zip itself after."""
    if draw(st.integers(0, 2)) == 0:
        return draw(damaged(data))
    with zipfile.ZipFile(io.BytesIO(data)) as read:
        files = {name: read.read(name) for name in read.namelist()}
    names = [name for name in files if name.endswith(".csv") and files[name].count(b"\n") > 1]
    name = draw(st.sampled_from(names))
    files[name] = draw(damaged(files[name]) | edited_cells(files[name]))
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for each, content in files.items():
            new.writestr(each, content)
    return made.getvalue()


def strategy_for(kind, data):
    """Return how a kind of file is damaged: as bytes, or as what it says."""
    if kind == "zip":
        return damaged_zips(data)
    return damaged(data) | (edited_lines if kind == "json lines" else edited_cells)(data)


class Bench:
    """A log that damaged files are brought into, and good files to damage."""

    def __init__(self, folder):
        self._folder = Path(folder)
        shop = fill(open_log(f"sqlite:///{self._folder / 'shop.sqlite'}", "Bay A"))
        files = {"json lines": io.BytesIO(), "zip": io.BytesIO()}
        shop.export_json_lines(files["json lines"])
        shop.export_tables(files["zip"])
        self.files = {name: file.getvalue() for name, file in files.items()}
        self.files["coupons"] = coupon_csv([each.coupon for each in shop.iter_coupons()])
        shop.close()
        self._empty = self._folder / "empty.sqlite"
        open_log(f"sqlite:///{self._empty}").close()
        self.log = open_log(f"sqlite:///{self._folder / 'bench.sqlite'}")
        self.log = self.log.used_by(Trust.OPERATOR)
        self._before = self._fingerprint()
        self.counts = {"refused": 0, "read": 0, "brought in": 0}

    def close(self):
        self.log.close()

    def _fingerprint(self):
        with self.log._engine.connect() as connection:
            driver = connection.connection.driver_connection
            text = "\n".join(driver.iterdump())
        return hashlib.sha256(text.encode()).hexdigest()

    def whole_log(self, data):
        """Read a file and bring it in; fail on anything that is neither refused nor the same."""
        try:
            file = LogFile(io.BytesIO(data))
            records = [placed.record for placed in file.records()]
        except AdvisorError as error:
            assert str(error)  # noqa: PT017  (a sentence)
            self.counts["refused"] += 1
            self._bring_in(data)
            return
        self.counts["read"] += 1
        assert file.problems() == []
        for write in (write_json_lines, write_tables):
            again = io.BytesIO()
            write(again, header_of(records), records)
            assert [placed.record for placed in LogFile(again).records()] == records
        self._bring_in(data)

    def _bring_in(self, data):
        try:
            arrived = self.log.try_bringing_in(LogFile(io.BytesIO(data)), BY, NOW)
        except AdvisorError:
            arrived = None
        assert self._fingerprint() == self._before
        if arrived is not None:
            self.counts["brought in"] += 1
            self._keep(data, arrived)

    def _keep(self, data, arrived):
        """Bring the file into a log of its own, which has to be sound and know it again."""
        path = self._folder / "copy.sqlite"
        shutil.copy(self._empty, path)
        with closing_log(f"sqlite:///{path}") as log:
            assert log.bring_in(LogFile(io.BytesIO(data)), BY, NOW) == arrived
            assert log.verify().is_sound
            assert log.bring_in(LogFile(io.BytesIO(data)), BY, NOW).new == 0
            file = io.BytesIO()
            log.export_json_lines(file)
            assert log.bring_in(LogFile(file), BY, NOW).new == 0

    def coupons(self, data):
        """Read a CSV of coupons; fail on anything that is neither refused nor the same again."""
        try:
            table = read_table(data)
            reading = read_coupons(table, own_map(table.header), needed=DECIDING, now=NOW)
        except AdvisorError as error:
            assert str(error)  # noqa: PT017  (a sentence)
            self.counts["refused"] += 1
            return
        self.counts["read"] += 1
        if reading.coupons:
            again = read_table(coupon_csv(reading.coupons))
            assert read_coupons(again, own_map(again.header)).coupons == reading.coupons
            self._import(reading.coupons)

    def _import(self, coupons):
        try:
            with closing_log(f"sqlite:///{self._folder / 'shop.sqlite'}", "Bay A") as log:
                log.import_coupons(coupons, BY, NOW)
        except AdvisorError as error:
            assert str(error)  # noqa: PT017  (a sentence)
        else:
            self.counts["brought in"] += 1


@contextmanager
def closing_log(url, shop="Shop"):
    log = open_log(url, shop)
    try:
        yield log.used_by(Trust.OPERATOR)
    finally:
        log.close()


def coupon_csv(coupons):
    """Write coupons as the page Files does."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows(guarded_row(to_row(coupon)) for coupon in coupons)
    return text.getvalue().encode()


def run(bench, kind, examples):
    """Damage one kind of file so many times."""
    check = bench.coupons if kind == "coupons" else bench.whole_log

    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    @given(strategy_for(kind, bench.files[kind]))
    def damage(data):
        check(data)

    damage()


def main():
    """Run 10,000 examples of each kind, and print what became of them."""
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    for kind in sys.argv[2:] or ("json lines", "zip", "coupons"):
        with tempfile.TemporaryDirectory() as folder:
            bench = Bench(folder)
            run(bench, kind, examples)
            print(kind, bench.counts, flush=True)
            bench.close()


if __name__ == "__main__":
    main()
