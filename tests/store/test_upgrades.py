"""A log of every earlier version, opened by this one: nothing lost, nothing changed, all sealed."""

import errno
import importlib
import itertools
import json
import os
import sqlite3
import subprocess
import sys
from collections import Counter, deque
from contextlib import ExitStack, closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from itertools import groupby, product

import hypothesis
import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from old_logs import make
from sqlalchemy import event, text
from sqlalchemy.exc import DBAPIError
from store_examples import NOW, PASSING, fill
from strategies import coupons

from advisor.errors import StoreError
from advisor.exchange.log_file import LogFile
from advisor.people.roles import Role
from advisor.store.backups.backup import back_up, before_upgrade
from advisor.store.base import Trust, is_newest
from advisor.store.engine import connect, opening
from advisor.store.log import open_log
from advisor.store.schema import APPEND_ONLY, COUNTED, SEALED, Moment, metadata
from advisor.weld.setting import NUMBERS
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

SHOPS = ("Shop", "Second shop")
KINDS = ("sqlite", "postgresql")
REVIEW = importlib.import_module("advisor.store.migrations.versions.0008_review")
REVISION, NUMBERS_OF_SHOPS = metadata.tables["coupon_revision"], itertools.count()
LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
#: Opens a log and dies, as in a power cut, when the upgrade is nearly done.
DIE = """
import os, sys
from sqlalchemy import Engine, event
from advisor.store.log import open_log
@event.listens_for(Engine, "before_cursor_execute")
def die(_connection, _cursor, statement, *_):
    if statement.startswith("CREATE TRIGGER foretold_no"):
        os._exit(9)
open_log(sys.argv[1])
"""


@pytest.fixture(scope="module", autouse=True)
def tables_copied():
    """Every new log goes through the migrations here."""


class OldLog:
    """A log as an earlier version left it: its address, and its rows by table."""

    def __init__(self, kind, revision, path, server):
        self.revision, self.path = revision, path
        make.load(path, revision)
        self.url = f"sqlite:///{path}"
        self.rows = self.read()
        if kind == "postgresql":
            self.url = server
            engine = self.engine()
            make.copy_to_server(self.rows, engine, revision)

    def engine(self):
        return sa.create_engine(self.url, poolclass=sa.NullPool)

    def read(self):
        with self.engine().connect() as connection:
            return make.read(connection)

    def of(self, table, shop=1):
        return [row for row in self.rows.get(table, []) if row["shop_id"] == shop]

    def one(self, table, number):
        return next(row for row in self.rows[table] if row["id"] == number)


def old_log(request, kind, revision, folder, stack):
    """Make an old log, on a server that is there for as long as `stack`."""
    server = None
    if kind == "postgresql":
        cluster = request.getfixturevalue("postgresql")
        server = cluster.url(stack.enter_context(cluster.database()))
    return OldLog(kind, revision, folder / "log.sqlite", server)


@pytest.fixture
def old(request, tmp_path):
    """An old log that is not opened yet."""
    kind, revision = request.param
    with ExitStack() as stack:
        yield old_log(request, kind, revision, tmp_path, stack)


@pytest.fixture(scope="module", params=list(product(KINDS, make.OLD)), ids="-".join)
def opened(request, tmp_path_factory):
    """An old log, opened by this version as each of its shops; tests leave it as it is."""
    kind, revision = request.param
    with ExitStack() as stack:
        found = old_log(request, kind, revision, tmp_path_factory.mktemp("old"), stack)
        found.logs = [open_log(found.url, shop) for shop in SHOPS]
        yield found
        for log in found.logs:
            log.close()


each_old = pytest.mark.parametrize(
    "old", list(product(KINDS, make.OLD)), ids="-".join, indirect=True
)
newest_old = pytest.mark.parametrize(
    "old", [(kind, make.OLD[-1]) for kind in KINDS], ids="-".join, indirect=True
)


@pytest.mark.parametrize("revision", make.OLD)
def test_the_stored_logs_are_what_their_migrations_make(tmp_path, revision):
    make.load(tmp_path / "stored", revision)
    make.grow(tmp_path / "grown", revision)
    seen = []
    for name in ("stored", "grown"):
        with closing(sqlite3.connect(tmp_path / name)) as raw:
            seen.append(sorted(raw.iterdump()))
    assert seen[0] == seen[1]


def test_every_column_of_every_row_says_what_it_said(opened):
    """Read back shop by shop: a server shows no more."""
    for name, before in opened.rows.items():
        # What is counted is made anew; the test of the counts looks at it.
        if name in {"alembic_version", "tally"} or not before:
            continue
        table, found = metadata.tables[name], []
        for log in opened.logs:
            mine = table.c.id if name == "shop" else table.c.shop_id
            query = sa.select(*(table.c[column] for column in before[0]))
            with log._reading() as connection:
                rows = connection.execute(query.where(mine == log._shop)).mappings()
                found += [dict(row) for row in rows]
        by_text = {"key": lambda row: json.dumps(row, default=str, sort_keys=True)}
        assert sorted(found, **by_text) == sorted(before, **by_text), name


def test_coupons_read_with_every_correction_void_and_verdict(opened):
    for number, log in enumerate(opened.logs, start=1):
        assert {
            n: [_as_read(each) for each in log.history(n)] for n in _numbers(opened, number)
        } == {n: _as_written(opened, number, n) for n in _numbers(opened, number)}


def _numbers(old, shop):
    return [row["number"] for row in old.of("coupon", shop)]


def _as_written(old, shop, number):
    """What the rows of one coupon say, put together by hand."""
    coupon = next(row for row in old.of("coupon", shop) if row["number"] == number)
    revisions = [row for row in old.of("coupon_revision", shop) if row["coupon_id"] == coupon["id"]]
    found = []
    for row in sorted(revisions, key=lambda row: row["revision"]):
        stack = old.one("stack", row["stack_id"])
        sheets = [sheet["thickness_mm"] for sheet in json.loads(stack["body"])["sheets"]]
        rules = json.loads(old.one("rules", row["rules_id"])["body"])
        found.append(
            {
                **{name: row[name] for name in (*NUMBERS, "revision", "voided", "why", "job")},
                "by": row["recorded_by"],
                "at": row["recorded_at"],
                "made_at": row["made_at"],
                "welder": old.one("welder", row["welder_id"])["name"],
                "machine": old.one("machine", row["machine_id"])["name"],
                "sheets": sheets[::-1] if row["turned_over"] else sheets,
                "origin": row.get("origin", ""),
                "notes": row["notes"],
                "flags": [row[name] for name in ("expulsion", "edge_weld", "cracks")],
                "caps": [row["cap_shape"], row["face_mm"], row["welds_since_dressing"]],
                "verdict": [row["outcome"], json.loads(row["reasons"])],
                "results": [
                    [each["smallest_mm"], each["largest_mm"], each["failure"]]
                    for each in old.of("interface_result", shop)
                    if each["coupon_revision_id"] == row["id"]
                ],
                "largest_aspect": rules["judging"]["largest_aspect"],
                "passes_in_a_row": rules["coverage"]["passes_in_a_row"],
            }
        )
    return found


def _as_read(revision):
    """The same of a revision as the log gives it."""
    logged = revision.logged
    coupon, verdict = logged.coupon, logged.verdict
    return {
        **{name: getattr(coupon.setting, name) for name in NUMBERS},
        "revision": logged.revision,
        "voided": logged.voided,
        "why": revision.why,
        "job": coupon.job,
        "by": revision.by,
        "at": revision.at,
        "made_at": coupon.made_at,
        "welder": coupon.welder,
        "machine": coupon.machine,
        "sheets": [sheet.thickness_mm for sheet in coupon.stack.sheets],
        "origin": logged.origin,
        "notes": coupon.notes,
        "flags": [coupon.expulsion, coupon.edge_weld, coupon.cracks],
        "caps": [
            coupon.electrode.shape.value,
            coupon.electrode.face_mm,
            coupon.welds_since_dressing,
        ],
        "verdict": [
            verdict.outcome.value,
            [[reason.outcome.value, reason.text] for reason in verdict.reasons],
        ],
        "results": [
            [each.smallest_mm, each.largest_mm, each.failure.value if each.failure else None]
            for each in coupon.results
        ],
        "largest_aspect": revision.rules.judging.largest_aspect,
        "passes_in_a_row": revision.rules.coverage.passes_in_a_row,
    }


def test_a_few_of_them_in_plain_figures(opened):
    """Typed from the file of rows, so that the two readings above cannot be wrong alike."""
    log, second = opened.logs
    first, again = log.history(2)
    assert (first.logged.verdict.outcome.value, again.logged.verdict.outcome.value) == (
        "fail",
        "pass",
    )
    assert (again.by, again.why) == ("Ann Sample", "caliper read wrong")
    assert log.coupon(3).voided == "wrong sheets taken"
    assert log.coupon(1).coupon.stack == Stack((Sheet(1.2), Sheet(0.8)))
    assert log.coupon(5).coupon.made_at == datetime(2024, 12, 31, 23, 30, tzinfo=UTC)
    assert [each.name for each in log.machines()] == ["Gun 1", "Gun 2"]
    assert second.coupon(1).coupon.electrode.face_mm == 5.5
    assert [job for job in log.jobs(open_only=False)] == ["R-1001", "r-1000"]
    assert [each.joint.name for each in log.joints("R-1000")] == ["Floor seam"]
    assert log.bench("gun 1").fitted_at == datetime(2024, 11, 4, 7, 20, tzinfo=UTC)


def test_clocks_run_on(opened):
    log = opened.logs[0]
    if not opened.of("adhesive_clock"):
        assert log.clocks_since(LONG_AGO) == []
        return
    stopped, running = log.clocks_since(LONG_AGO)
    assert [each.used_for for each in log.running_clocks()] == ["Sill, outer"]
    assert stopped.stopped_at == datetime(2025, 2, 3, 7, 45, tzinfo=UTC)
    assert [(each.at.minute, each.degC) for each in running.readings] == [(0, 21.5), (20, 24.0)]


def test_releases_stand_as_they_were_given(opened):
    sill = next(each for each in opened.logs[0].joint_states("R-1001") if each.stored.id == 1)
    if not opened.of("release"):
        assert sill.release is None
        return
    assert (sill.release.by, sill.release.note) == ("Ann Sample", "after the second reading")
    assert sill.release.at == datetime(2025, 3, 3, 9, 0, tzinfo=UTC)
    assert [(each.number, each.revision) for each in sill.release.evidence] == [(2, 2)]


def test_checks_recommendations_usual_joints_and_beads_read(opened):
    log = opened.logs[0]
    checks = [(each.key, each.answer.value, each.measured) for each in log.checks(1)]
    beads = {each.name: (each.bead_mm, each.bond_line_mm) for each in log.adhesives()}
    if opened.revision < "0005":
        assert checks == []
        assert log.templates() == {}
        return
    assert checks == [
        ("faces_bare", "open", None),
        ("faces_bare", "done", None),
        ("edge_bevel", "done", 8.5),
    ]
    assert log.recommendation("Gun 1", log.joint(1).joint.stack).settings == "9 kA, 3 pulses"
    assert log.templates()["Usual sill"].stack == Stack((Sheet(1.2), Sheet(0.8)))
    assert beads["Invented epoxy"] == ((4.0, None) if opened.revision >= "0006" else (None, None))


def test_the_tables_are_those_of_the_schema(opened):
    with opened.engine().connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_every_row_is_sealed(opened):
    for shop, log in enumerate(opened.logs, start=1):
        report = log.used_by(Trust.OPERATOR).verify()
        assert report.is_sound, report.lines()
        assert {each.table: each.rows for each in report.chains} == {
            table.name: len(opened.of(table.name, shop)) for table in SEALED
        }


def test_counts_are_those_of_a_count_by_hand(opened):
    for shop, log in enumerate(opened.logs, start=1):
        query = sa.select(metadata.tables["tally"]).where(text(f"shop_id = {shop}"))
        with log._reading() as connection:
            found = Counter()
            for row in connection.execute(query):
                found.update({(*row[1:6], name): row[n + 7] for n, name in enumerate(COUNTED[:4])})
                assert sum(row[11:]) >= row[COUNTED.index("failed") + 7]
        assert +found == _counted(opened, shop)


def _counted(old, shop):
    newest = {}
    for row in sorted(old.of("coupon_revision", shop), key=lambda row: row["revision"]):
        newest[row["coupon_id"]] = row
    counts = Counter()
    for row in newest.values():
        if row["voided"]:
            continue
        day = row["made_at"].date()
        for span, starts in (
            ("day", day),
            ("month", date(day.year, day.month, 1)),
            ("year", date(day.year, 1, 1)),
        ):
            key = (span, starts, row["welder_id"], row["machine_id"], row["stack_id"])
            word = {"pass": "passed", "fail": "failed", "open": "open"}[row["outcome"]]
            counts[*key, word] += 1
            counts[*key, "expelled"] += row["expulsion"]
    return +counts


@pytest.mark.parametrize("kind", KINDS)
def test_purposes_and_causes_are_those_that_are_written_today(request, tmp_path, kind):
    """An old log, counted by its migration, against the same coupons logged anew."""
    with ExitStack() as stack:
        old = old_log(request, kind, make.OLD[-1], tmp_path, stack)
        log = open_log(old.url, SHOPS[0])
        again = open_log(f"sqlite:///{tmp_path}/again.sqlite", SHOPS[0])
        written = BytesIO()
        log.export_json_lines(written)
        again.bring_in(LogFile(written), "Ann Sample", datetime.now(UTC))
        for each in (log, again):
            stack.callback(each.close)
        mine, anew = _purposes(log), _purposes(again)
        # Its verdict was given without a word of its crack, and the migration reads verdicts.
        assert mine.pop(CRACKED, None) in (None, ("first", "no_fusion"))
        assert anew.pop(CRACKED, None) in (None, ("first", "no_fusion crack"))
        assert mine == anew
        assert mine


@hypothesis.settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(coupons(), min_size=1, max_size=5), st.lists(st.integers(0, 4), max_size=5))
def test_the_migration_says_of_any_coupon_what_is_written_today(sqlite_url, drawn, again):
    """By its own words of then, row for row as it walks them."""
    drawn = [*drawn, PASSING]
    repeated = [
        replace(drawn[n % len(drawn)], made_at=drawn[n % len(drawn)].made_at + timedelta(days=day))
        for day, n in enumerate(again, start=27)
    ]
    soon = datetime(2028, 1, 1, tzinfo=UTC)
    with closing(fill(open_log(sqlite_url, f"shop {next(NUMBERS_OF_SHOPS)}"))) as log:
        log.import_coupons([*drawn, *repeated], "Kim", soon)
        with log._reading() as connection:
            query = sa.select(REVISION).where(REVISION.c.shop_id == log._shop)
            rows = connection.execute(query).mappings().all()
    keys = ("machine_id", "stack_id", "job")
    ordered = sorted(rows, key=lambda row: (*(row[key] for key in keys), row["made_at"], row["id"]))
    for _, group in groupby(ordered, key=lambda row: tuple(row[key] for key in keys)):
        before = deque()
        for row in group:
            assert REVIEW.purpose_of(row, before) == row["purpose"]
            assert " ".join(REVIEW.causes_of(row)) == row["causes"]
            before.append(row)


#: Coupon of the old logs that has a crack and another fault.
CRACKED = 6


def _purposes(log):
    r, c = metadata.tables["coupon_revision"], metadata.tables["coupon"]
    query = sa.select(c.c.number, r.c.purpose, r.c.causes).join(c, c.c.id == r.c.coupon_id)
    query = query.where(r.c.shop_id == log._shop, r.c.voided == "", is_newest())
    with log._reading() as connection:
        return {row.number: (row.purpose, row.causes) for row in connection.execute(query)}


def test_everybody_is_a_lead(opened):
    for log in opened.logs:
        people = log.people()
        assert [each.name for each in people] == log.welders()
        assert {(each.role, each.has_pin, each.has_left) for each in people} == {
            (Role.LEAD, False, False)
        }


@pytest.mark.parametrize("table", APPEND_ONLY, ids=lambda table: table.name)
def test_no_row_can_be_changed_deleted_or_replaced(opened, table):
    log, name = opened.logs[0], table.name
    verbs = [f"UPDATE {name} SET shop_id = shop_id", f"DELETE FROM {name}"]  # noqa: S608
    if log._engine.dialect.name == "sqlite":
        verbs.append(f"INSERT OR REPLACE INTO {name} SELECT * FROM {name}")  # noqa: S608
    else:
        verbs.append(f"TRUNCATE {name} CASCADE")
    for verb in verbs:
        refused = r"\w+" if verb.startswith("TRUNCATE") else name
        with log._engine.connect() as connection:
            _need_a_row(connection, table)
            with pytest.raises(DBAPIError, match=f"{refused} is never changed or deleted"):
                connection.execute(text(verb))


def _need_a_row(connection, table):
    """Insert any row where there is none: a trigger for each row needs one to refuse."""
    if connection.execute(sa.select(table).limit(1)).first():
        return
    values = {}
    for column in table.c:
        if column.foreign_keys:
            other = next(iter(column.foreign_keys)).column.table
            values[column.name] = connection.execute(sa.select(sa.func.min(other.c.id))).scalar()
        elif column.name != "id":
            values[column.name] = NOW if isinstance(column.type, Moment) else 1
            if isinstance(column.type, sa.String):
                values[column.name] = "x"
    connection.execute(sa.insert(table).values(**values))


@newest_old
def test_an_old_log_goes_on(old):
    log = open_log(old.url)
    log.add_welder("Kim", "Bo Exämple")
    log.save_machine(replace(log.machine("Gun 1"), mains_hz=60.0), "Ann Sample")
    added = log.add_coupon(replace(PASSING, machine="gun 1"), "Kim", NOW)
    assert added.number == 1 + max(row["number"] for row in old.of("coupon"))
    assert log.used_by(Trust.OPERATOR).verify().is_sound
    log.close()


@each_old
def test_an_interrupted_upgrade_leaves_the_old_log(old):
    before, tables = old.read(), _definitions(old)

    def interrupt(_connection, _cursor, statement, *_):
        if statement.startswith("CREATE TRIGGER foretold_no"):
            raise RuntimeError("somebody pulled the plug")

    event.listen(sa.Engine, "before_cursor_execute", interrupt)
    try:
        with pytest.raises(RuntimeError, match="pulled the plug"):
            open_log(old.url)
    finally:
        event.remove(sa.Engine, "before_cursor_execute", interrupt)
    assert old.read() == before
    assert _definitions(old) == tables
    log = open_log(old.url)
    assert log.used_by(Trust.OPERATOR).verify().is_sound
    log.close()


@newest_old
def test_an_upgrade_that_dies_leaves_the_old_log(old):
    before, tables = old.read(), _definitions(old)
    assert subprocess.run([sys.executable, "-c", DIE, old.url], check=False).returncode == 9
    assert old.read() == before
    assert _definitions(old) == tables


def _definitions(old):
    """What tables, columns, indexes and triggers there are."""
    with old.engine().connect() as connection:
        if connection.dialect.name == "sqlite":
            ask = "SELECT type, name, sql FROM sqlite_master ORDER BY type, name"
            return connection.execute(text(ask)).all()
        found = sa.inspect(connection)
        triggers = "SELECT tgrelid::regclass::text, tgname FROM pg_trigger ORDER BY 1, 2"
        columns = {
            name: [c["name"] for c in found.get_columns(name)] for name in found.get_table_names()
        }
        return columns, connection.execute(text(triggers)).all()


@newest_old
def test_a_newer_log_is_refused_by_opening_and_by_a_backup(old, tmp_path):
    open_log(old.url).close()
    with old.engine().begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    before = old.path.read_bytes()
    with pytest.raises(StoreError, match=r"newer version of this program \(schema 9999\)"):
        open_log(old.url)
    with pytest.raises(StoreError, match=r"newer version of this program \(schema 9999\)"):
        back_up(old.url, tmp_path / "backups", NOW)
    assert old.path.read_bytes() == before
    assert list((tmp_path / "backups").iterdir()) == []


@pytest.mark.parametrize("revision", make.OLD)
def test_before_an_upgrade_the_old_file_is_copied(tmp_path, revision):
    path = tmp_path / "log.sqlite"
    make.load(path, revision)
    with closing(sqlite3.connect(path)) as raw:
        before = list(raw.iterdump())
    engine = sa.create_engine(f"sqlite:///{path}", poolclass=sa.NullPool)
    with opening(engine):  # as an upgrade holds it
        copy = before_upgrade(path, "0008")
    assert copy == tmp_path / "log-before-0008.sqlite"
    connect(f"sqlite:///{path}").dispose()
    with closing(sqlite3.connect(copy)) as raw:
        assert list(raw.iterdump()) == before
    assert [each.name for each in tmp_path.glob("log-before*")] == [copy.name]


@pytest.mark.parametrize("revision", make.OLD)
def test_opening_an_old_file_keeps_it_as_it_was(tmp_path, revision):
    path = tmp_path / "log.sqlite"
    make.load(path, revision)
    with closing(sqlite3.connect(path)) as raw:
        before = list(raw.iterdump())
    for _ in range(2):
        open_log(f"sqlite:///{path}").close()
    with closing(sqlite3.connect(tmp_path / "log-before-0008.sqlite")) as raw:
        assert list(raw.iterdump()) == before


def test_an_upgrade_without_room_for_the_copy_is_not_begun(tmp_path, monkeypatch):
    path = tmp_path / "log.sqlite"
    make.load(path, "0006")
    before = path.read_bytes()

    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="the disk is full or cannot be written; nothing was chan"):
        open_log(f"sqlite:///{path}")
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.glob("log*") if each.suffix == ".sqlite"] == [path.name]
