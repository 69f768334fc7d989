"""Rows that never change: the database refuses, and what is changed all the same shows."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from store_examples import BY, FAILING, NOW, PASSING

from advisor.bonding.preparation import CHECKS, Answer
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.store.schema import APPEND_ONLY, SEALED, coupon_revision
from advisor.store.seals import plain, seal_of
from advisor.weld.electrode import CapShape, Electrode

SOON = PASSING.made_at + timedelta(days=1)


@pytest.fixture
def full(log):
    """A log with at least two rows in each sealed table that a person can write to."""
    said = (Foretold(0.9, 0.1, 3), None, Foretold(0.4, 0.0, 5), None)
    kinds = (PASSING, FAILING, PASSING, replace(PASSING, notes="ü, 雪 and '; --"))
    for kind, foretold in zip(kinds, said, strict=True):
        log.add_coupon(kind, "Kim", NOW, foretold)
    log.correct_coupon(2, PASSING, BY, "misread", NOW)
    log.void_coupon(4, BY, "wrong sheet", NOW)
    log.fit_caps("gun 1", Electrode(CapShape.DOME, 6), PASSING.made_at - timedelta(days=1), BY)
    log.dress("gun 1", PASSING.made_at - timedelta(hours=2), BY)
    joint = log.save_joint(Joint("sill", "RO 1", PASSING.stack, "gun 1"), BY)
    for answer in (Answer.OPEN, Answer.DONE):
        log.add_check(joint, CHECKS[0].key, answer, None, BY, NOW)
    for page in ("3", "4"):
        log.add_recommendation(
            MakerRecommendation("gun 1", PASSING.stack, "Manual", page, "as printed", BY, NOW)
        )
    log.release(joint, BY, "", SOON)
    log.release(joint, BY, "again", SOON)
    log.save_rules(replace(log.rules(), coverage=replace(log.rules().coverage, bonded_days=3)), BY)
    return log


def at(place):
    return f"(SELECT id FROM coupon_revision WHERE place = {place})"  # noqa: S608


def unguarded(log, statement, **values):
    """Run a statement as somebody would who takes the triggers away first."""
    with log._writer.begin() as connection:
        for table in APPEND_ONLY:
            if connection.dialect.name == "sqlite":
                for what in ("update", "delete", "replacing"):
                    connection.execute(text(f"DROP TRIGGER IF EXISTS {table.name}_no_{what}"))
            else:
                connection.execute(text(f"ALTER TABLE {table.name} DISABLE TRIGGER USER"))
        connection.execute(text(statement), values)


def test_a_log_that_nobody_touched_is_sound(full):
    report = full.verify()
    assert report.is_sound, report.lines()
    assert {each.table: each.rows for each in report.chains} == {
        "coupon_revision": 6,
        "release": 2,
        "rules": 2,
        "machine_event": 2,
        "preparation_check": 2,
        "maker_recommendation": 2,
        "coupon_photo": 0,
        "foretold": 2,
        "change_log": 7,
    }
    assert report.lines()[-1] == "the log is sound"


REWRITES = {
    "sqlite": ("INSERT OR REPLACE INTO {0} SELECT * FROM {0}",),
    "postgresql": ("TRUNCATE {} CASCADE",),
}


def test_the_database_itself_refuses_to_rewrite(full):
    kind = full._engine.dialect.name
    ways = ("UPDATE {} SET shop_id = shop_id", "DELETE FROM {}", *REWRITES[kind])
    for table in APPEND_ONLY:
        if table.name == "coupon_photo":
            continue  # empty here; its triggers are looked at where photos are kept
        for way in ways:
            with (
                pytest.raises(DBAPIError, match="is never changed or deleted"),
                full._writer.begin() as connection,
            ):
                connection.execute(text(way.format(table.name)))
    assert full.verify().is_sound


CHANGES = {
    "coupon_revision": ("outcome = 'pass'", "coupon #2 revision 1"),
    "release": ("released_by = 'Nobody'", "release 2"),
    "rules": ("body = replace(body, '4.0', '3.5')", "rules 1"),
    "machine_event": ("face_mm = 8", "machine event 1"),
    "preparation_check": ("answer = 'not_needed'", "preparation check 1"),
    "maker_recommendation": ("settings = '12 kA'", "maker recommendation 1"),
    "foretold": ("chance_sound = 0.1", "foretold 1"),
    "change_log": ("who = 'Nobody'", "change log 3"),
}


def test_the_first_row_that_was_changed_is_named(full):
    for table, (what, _) in CHANGES.items():
        number = {"release": 2, "change_log": 3, "coupon_revision": 2}.get(table, 1)
        unguarded(full, f"UPDATE {table} SET {what} WHERE place = {number}")  # noqa: S608
    report = full.verify()
    wrong = {each.table: each.wrong for each in report.chains}
    for table, (_, named) in CHANGES.items():
        assert wrong[table].startswith(f"{named}: it does not say what was sealed")
    assert not report.is_sound


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("DELETE FROM coupon_revision WHERE place = 3", "revision 1: place 3 of the chain is miss"),
        (
            f"UPDATE interface_result SET smallest_mm = 9 WHERE coupon_revision_id = {at(2)}",  # noqa: S608
            "coupon #2 r",
        ),
        ("UPDATE welder SET name = 'Max' WHERE name = 'Kim'", "coupon #1 revision 1: it does not"),
        ("UPDATE machine SET name = 'gun 3' WHERE name = 'gun 1'", "coupon #1 revision 1: it do"),
        ("UPDATE stack SET body = replace(body, '1.2', '1.0')", "its sheets are not those it was"),
        ("UPDATE joint SET name = 'pillar'", "release 1: it does not say what was sealed"),
        ("UPDATE tally SET passed = passed + 1", "pages count 4 coupons as pass, the log holds 3"),
    ],
    ids=["removed", "size", "welder", "machine", "stack", "joint", "counts"],
)
def test_what_was_removed_or_given_another_meaning_is_named(full, statement, says):
    if "DELETE" in statement:
        unguarded(full, f"DELETE FROM interface_result WHERE coupon_revision_id = {at(3)}")  # noqa: S608
    if "tally" in statement:
        statement += " WHERE span = 'year'"
    unguarded(full, statement)
    lines = full.verify().lines()
    assert any(says in line for line in lines), lines
    assert lines[-1].startswith("THE LOG DOES NOT FIT")


def test_a_row_slipped_in_between_is_named(full):
    columns = [
        f'"{c.name}"' for c in coupon_revision.c if c.name not in {"id", "place", "revision"}
    ]
    names = ", ".join(columns)
    unguarded(
        full,
        f"INSERT INTO coupon_revision ({names}, place, revision) "  # noqa: S608
        f"SELECT {names}, 7, 9 FROM coupon_revision WHERE place = 5",
    )
    assert "revision 9: it does not say what was sealed" in "\n".join(full.verify().lines())


def test_a_cut_off_end_shows_by_a_seal_that_was_noted(full):
    noted = full.last_seal()
    assert full.holds_seal(noted)
    unguarded(full, f"DELETE FROM interface_result WHERE coupon_revision_id = {at(6)}")  # noqa: S608
    unguarded(full, "DELETE FROM coupon_revision WHERE place = 6")
    assert not full.holds_seal(noted)
    assert not full.verify().is_sound  # the counts of pages still hold the void


def test_a_seal_is_sha_256_of_the_stated_text():
    """Worked by hand with hashlib, so that another program can check a log."""
    says = {"note": "ü", "face_mm": 6.0}
    stated = '["machine_event",1,"",{"face_mm":6.0,"note":"\\u00fc"}]'
    assert seal_of("machine_event", 1, "", says) == hashlib.sha256(stated.encode()).hexdigest()
    assert json.loads(stated)[3] == says


def test_a_moment_is_sealed_in_utc_and_a_whole_number_as_it_is_read_back():
    at = datetime(2026, 12, 1, 12, 0, tzinfo=timezone(timedelta(hours=2)))
    found = plain(coupon_revision, {"made_at": at, "weld_ms": 200, "id": 3, "welder_id": 1})
    assert found == {"made_at": "2026-12-01T10:00:00.000000+00:00", "weld_ms": 200.0}
    assert repr(found["weld_ms"]) == "200.0"
    assert plain(coupon_revision, {"made_at": at.astimezone(UTC)})["made_at"] == found["made_at"]


def test_every_shop_has_chains_of_its_own(full, url):
    from advisor.store.log import open_log

    other = open_log(url, "Other shop")
    assert other.verify().is_sound
    assert all(each.rows == 0 for each in other.verify().chains)
    assert not other.holds_seal(full.last_seal())
    other.close()


def test_all_sealed_tables_are_append_only():
    assert set(SEALED) < set(APPEND_ONLY)
