"""What the log says follows the language; what it keeps does not."""

import io
import json
from dataclasses import fields, is_dataclass, replace
from typing import get_args, get_type_hints

import pytest
from exchange_makers import fill as fill_with_everything
from sqlalchemy import String, select
from store_examples import BY, FAILING, NOW, PASSING

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import Joint
from advisor.coupons.rules import ShopRules
from advisor.errors import LostRaceError, RecordError
from advisor.language import speaking
from advisor.store.backups import daily
from advisor.store.field_words import field_words
from advisor.store.log import open_log
from advisor.store.race import check_start
from advisor.store.schema import metadata, stack
from advisor.weld.machine import Machine
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack


def test_a_refusal_is_in_the_language_spoken(sqlite_log, pseudo):
    with pytest.raises(RecordError, match=r"^there is no coupon #7$"):
        sqlite_log.coupon(7)
    with speaking("de"), pytest.raises(RecordError, match=r"^⟦there is no coupon #7⟧$"):
        sqlite_log.coupon(7)


def test_nothing_that_is_kept_is_translated(sqlite_url, pseudo):
    log = open_log(sqlite_url)
    with speaking("de"):
        fill_with_everything(log)
        file = io.BytesIO()
        log.export_json_lines(file)
        with log._reading() as connection:
            titles = connection.execute(select(stack.c.title)).scalars().all()
        report = log.verify()
    log.close()
    assert report.is_sound
    assert "⟦" not in file.getvalue().decode()
    assert titles
    assert not [title for title in titles if "⟦" in title]


def test_a_verdict_is_kept_in_english_down_to_its_decimal_marks(sqlite_log, pseudo):
    before = sqlite_log.add_coupon(FAILING, "Kim", NOW)
    with speaking("de"):
        after = sqlite_log.add_coupon(FAILING, "Kim", NOW)
        new = replace(FAILING, stack=Stack((Sheet(0.8), Sheet(1.1))))  # in no cache yet
        sqlite_log.import_coupons([new], "Kim", NOW)
        (imported,) = sqlite_log.recent_coupons(1)
    assert after.verdict == before.verdict
    assert not [each.text for each in imported.verdict.reasons if "⟦" in each.text]


def test_two_versions_are_told_apart_in_the_language_spoken(pseudo):
    gun = Machine("gun", 13, 5)
    with speaking("de"), pytest.raises(LostRaceError) as refused:
        check_start("gun", None, replace(gun, largest_force_kN=6.5), gun)
    assert "⟦⟦largest force kN⟧: stored 6,5, yours 5⟧" in str(refused.value)


def _names(kind):
    if not is_dataclass(kind):
        return {name for each in get_args(kind) for name in _names(each)}
    hints = get_type_hints(kind)
    parts = {name for each in fields(kind) for name in _names(hints[each.name])}
    return parts | {each.name for each in fields(kind)}


def test_every_part_of_a_record_and_every_column_of_texts_has_words(pseudo):
    names = {
        name for kind in (Adhesive, Coupon, Joint, Machine, ShopRules) for name in _names(kind)
    }
    for table in metadata.tables.values():
        names |= {c.name for c in table.c if isinstance(c.type, String)}
    assert {"thickness_mm", "used_for"} <= names
    for name in names:
        words = name.replace("_", " ")
        assert field_words(name) == words
        with speaking("de"):
            assert field_words(name) == f"⟦{words}⟧"


def test_counts_are_named_in_the_language_spoken(sqlite_log, pseudo):
    sqlite_log.add_coupon(PASSING, "Kim", NOW)
    title = PASSING.stack.canonical().title()
    assert list(sqlite_log.pass_counts("adhesive_state")["name"]) == ["none"]
    assert list(sqlite_log.pass_counts("stack")["name"]) == [title]
    with speaking("de"):
        assert list(sqlite_log.pass_counts("adhesive_state")["name"]) == ["⟦none⟧"]
        spoken = PASSING.stack.canonical().title()
        assert spoken != title
        assert list(sqlite_log.pass_counts("stack")["name"]) == [spoken]


def test_what_was_done_to_a_machine_is_told_in_the_language_spoken(sqlite_log, pseudo):
    sqlite_log.dress("gun 1", NOW, BY)
    (event,) = sqlite_log.events("gun 1")
    assert "dressed (Lead)" in str(event)
    with speaking("de"):
        assert "⟦dressed⟧ (Lead)" in str(event)


def test_a_backup_is_noted_in_english_and_told_in_the_language_spoken(
    sqlite_url, tmp_path, monkeypatch, pseudo
):
    monkeypatch.setattr(daily, "_states", {})
    log = open_log(sqlite_url)
    fill_with_everything(log)
    log.close()
    with speaking("de"):
        daily.ensure_daily(sqlite_url, NOW).join(60)
        told = daily.last_backup(sqlite_url).text
    noted = json.loads((tmp_path / "backups" / "log-last.json").read_text())
    assert noted["text"].startswith("backed up 2027-01-01 00:00 UTC, 6 coupons: ")
    assert told == f"⟦{noted['text']}⟧"
    assert daily.last_backup(sqlite_url).text == noted["text"]
