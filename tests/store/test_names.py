"""Names and job numbers are one whatever their case and spaces; every write has its author."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlalchemy import func, select
from store_examples import BY, NOW, PASSING

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError, RecordError
from advisor.store.log import open_log
from advisor.store.schema import stack
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

CAPS = Electrode(CapShape.DOME, 6.0)
EPOXY = Adhesive("Test epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440))
JOINT = Joint("sill", "RO 7", PASSING.stack, "gun 1")


def test_a_name_is_entered_once_and_keeps_its_first_spelling(log):
    log.add_welder("Łucja  Straße", BY)
    with pytest.raises(InputError, match="is in the list already"):
        log.add_welder(" łucja STRASSE ", BY)
    assert log.welders().count("Łucja Straße") == 1
    assert len(log.welders()) == 5
    log.save_machine(Machine("GUN 1", 9.0, 3.5), BY)
    assert [m.name for m in log.machines()] == ["gun 1", "gun 2"]
    log.save_adhesive(EPOXY, BY)
    log.save_adhesive(replace(EPOXY, name="TEST EPOXY"), BY)
    assert log.adhesives() == [EPOXY]


def test_a_job_is_one_whatever_the_case_of_its_number(log):
    log.save_joint(JOINT, BY)
    log.save_joint(replace(JOINT, name="roof", job=" ro  7"), BY)
    assert log.jobs() == ["RO 7"]
    assert [s.joint.job for s in log.joints("ro 7")] == ["RO 7", "RO 7"]
    assert log.joints("RO 8") == []
    log.close_job("ro 7", BY)
    assert log.jobs() == []


def test_a_coupon_of_a_known_job_carries_its_spelling(log):
    log.save_joint(JOINT, BY)
    found = [
        log.add_coupon(replace(PASSING, job=job), BY, NOW).coupon.job
        for job in ("ro 7 ", "RO 7", "elsewhere ", "")
    ]
    assert found == ["RO 7", "RO 7", "elsewhere ", ""]


def test_a_stack_is_stored_once_either_way_up_and_however_its_numbers_are_written(log):
    stacks = (
        Stack((Sheet(1), Sheet(2))),
        Stack((Sheet(1.0), Sheet(2.0))),
        Stack((Sheet(2.0), Sheet(1.0))),
    )
    log.import_coupons([replace(PASSING, stack=each) for each in stacks], BY, NOW)
    with log._reading() as connection:
        assert connection.execute(select(func.count()).select_from(stack)).scalar() == 1


def test_an_import_names_all_unknown_machines(log):
    unknown = [replace(PASSING, machine=name) for name in ("gun 9", "gun 1", "gun 8")]
    with pytest.raises(InputError, match="no machine is called gun 8 or gun 9; add the name"):
        log.import_coupons(unknown, BY, NOW)
    assert log.counts()["coupons"] == 0


WRITES = {
    "add_welder": lambda log: log.add_welder("Neu", " "),
    "save_machine": lambda log: log.save_machine(Machine("gun 3", 9.0, 3.5), ""),
    "save_adhesive": lambda log: log.save_adhesive(EPOXY, " "),
    "save_rules": lambda log: log.save_rules(ShopRules(), ""),
    "save_joint": lambda log: log.save_joint(JOINT, " "),
    "close_job": lambda log: log.close_job("RO 7", ""),
    "fit_caps": lambda log: log.fit_caps("gun 1", CAPS, NOW, " "),
    "dress": lambda log: log.dress("gun 1", NOW, ""),
    "repair": lambda log: log.repair("gun 1", NOW, " "),
    "add_coupon": lambda log: log.add_coupon(PASSING, "", NOW),
    "import_coupons": lambda log: log.import_coupons([PASSING], " ", NOW),
    "correct_coupon": lambda log: log.correct_coupon(1, PASSING, "", "misread", NOW),
    "void_coupon": lambda log: log.void_coupon(1, " ", "wrong", NOW),
    "save_preferences": lambda log: log.save_preferences(" ", {"unit_time": "ms"}),
}


@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES)
def test_nothing_is_written_by_nobody(log, write):
    with pytest.raises(InputError, match="nobody is named as the one who writes this"):
        write(log)


def test_caps_are_fitted_at_a_time_with_a_zone(log):
    naive = datetime(2026, 5, 4, 8)
    with pytest.raises(InputError, match="to a machine needs its time zone"):
        log.fit_caps("gun 1", CAPS, naive, BY)
    log.fit_caps("gun 1", CAPS, naive.replace(tzinfo=UTC), BY)
    with pytest.raises(RecordError, match="no machine is called 'gun 9'; known: gun 1, gun 2"):
        log.dress("gun 9", NOW, BY)


def test_a_log_is_empty_until_a_machine_is_entered(url):
    log = open_log(url)
    log.add_welder(BY, BY)
    assert log.is_empty()
    log.save_machine(Machine("gun 1", 9.0, 3.5), BY)
    assert not log.is_empty()
    log.close()


def test_edits_are_in_the_change_log(log):
    number = log.save_joint(JOINT, "Kim")
    log.save_joint(replace(JOINT, pitch_mm=35.0), "Lead", number)
    newest, older = log.changes(2)
    assert (newest.who, newest.what) == ("Lead", "joint sill changed")
    assert '"pitch_mm": null' in newest.before
    assert '"pitch_mm": 35.0' in newest.after
    assert (older.who, older.what, older.before) == ("Kim", "joint sill added", None)


def test_the_shop_of_a_database_is_named_by_the_environment(url, log, monkeypatch):
    monkeypatch.setenv("ADVISOR_SHOP", "North")
    north = open_log(url)
    assert north.welders() == []
    north.add_welder("Nora", "Nora")
    assert "Nora" not in log.welders()
    north.close()
