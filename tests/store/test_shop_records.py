"""Machines, caps, adhesives, joints and preferences read back as they were written."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from strategies import machines, stacks

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.coupons.rules import CoverageRules, ShopRules
from advisor.errors import InputError, RecordError
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.published import Schedule
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
CAPS = Electrode(CapShape.DOME, 6.0)
EPOXY = Adhesive("Test epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(machines())
def test_a_machine_reads_back_equal(log, machine):
    log.save_machine(machine, "Lead")
    assert log.machine(machine.name) == machine


def test_a_change_leaves_before_and_after(log):
    log.save_machine(Machine("gun 1", 9.0, 3.5), "Lead")
    change = log.changes(1)[0]
    assert (change.who, change.what) == ("Lead", "machine gun 1 changed")
    assert '"largest_current_kA": 40' in change.before
    assert '"largest_current_kA": 9.0' in change.after
    log.save_machine(Machine("gun 1", 9.0, 3.5), "Lead")
    assert log.changes(1)[0].id == change.id


def test_an_unknown_machine_names_the_known_ones(log):
    with pytest.raises(RecordError, match="no machine is called 'gun 9'; known: gun 1, gun 2"):
        log.machine("gun 9")


def test_a_dressing_keeps_the_caps_and_a_new_cap_starts_again(log):
    log.fit_caps("gun 1", CAPS, START, "Kim")
    log.dress("gun 1", START + timedelta(days=1), "Kim")
    assert log.bench("gun 1").fitted_at == START
    wide = replace(CAPS, face_mm=8.0)
    log.fit_caps("gun 1", wide, START + timedelta(days=2), "Kim")
    log.repair("gun 1", START + timedelta(days=3), "Kim", "new cable")
    bench = log.bench("gun 1")
    assert (bench.electrode, bench.fitted_at) == (wide, START + timedelta(days=2))
    assert bench.repaired_at == START + timedelta(days=3)
    assert log.bench("gun 2").electrode is None
    kinds = [event.kind for event in log.events("gun 1")]
    assert kinds == ["repaired", "fitted", "dressed", "fitted"]


def test_an_adhesive_reads_back_equal_and_can_change(log):
    log.save_adhesive(EPOXY, "Lead")
    log.save_adhesive(replace(EPOXY, label_degC=23.0), "Lead")
    assert log.adhesives() == [replace(EPOXY, label_degC=23.0)]


def test_rules_read_back_equal(log):
    rules = ShopRules(coverage=CoverageRules(3, 0.03, 14, 7), bare_schedule=Schedule.MEDIUM_FORCE)
    log.save_rules(rules, "Lead")
    assert log.rules() == rules


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(stacks())
def test_a_joint_reads_back_equal(log, stack):
    name = f"sill {len(log.joints('RO 7'))}"
    joint = Joint(name, "RO 7", stack, "gun 1", Setting(9.5, 200, 3.0), 12, 35.0)
    number = log.save_joint(joint, "Kim")
    assert {s.id: s.joint for s in log.joints("RO 7")}[number] == joint


def test_a_joint_can_change_and_its_job_can_close(log):
    joint = Joint("sill", "RO 7", Stack((Sheet(1.0), Sheet(1.2))), "gun 1")
    number = log.save_joint(joint, "Kim")
    log.save_joint(replace(joint, machine="gun 2"), "Kim", number)
    assert [s.joint.machine for s in log.joints("RO 7")] == ["gun 2"]
    log.close_job("RO 7", "Lead")
    assert log.jobs() == []
    assert log.jobs(open_only=False) == ["RO 7"]
    with pytest.raises(RecordError, match="job RO 7 is closed"):
        log.save_joint(joint, "Kim")


def test_two_joints_of_one_name_in_a_job_are_refused(log):
    joint = Joint("sill", "RO 7", Stack((Sheet(1.0), Sheet(1.2))), "gun 1")
    log.save_joint(joint, "Kim")
    with pytest.raises(InputError, match="job RO 7 has a joint called sill already"):
        log.save_joint(replace(joint, name="Sill", machine="gun 2"), "Kim")
    assert log.save_joint(replace(joint, job="RO 8"), "Kim")


def test_a_name_too_long_for_a_card_is_refused(log):
    with pytest.raises(InputError, match="the name has 61 letters; at most 60"):
        log.add_welder("x" * 61, "Lead")


def test_preferences_are_kept_for_each_person(log):
    log.save_preferences("Kim", {"unit_force": "daN", "unit_time": "ms"})
    log.save_preferences("kim", {"unit_time": "cycle"})
    assert log.preferences("Kim") == {"unit_force": "daN", "unit_time": "cycle"}
    assert log.preferences("Somebody") == {}


def test_a_nameless_welder_is_refused(log):
    with pytest.raises(InputError, match="the welder has no name"):
        log.add_welder("  ", "Lead")
