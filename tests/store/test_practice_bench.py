"""The practice bench is a log of the trainee's own, marked as a copy, that outlives a restart."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import BONDED_MISSING, CoverState
from advisor.coupons.verdict import Outcome
from advisor.errors import InputError, LimitError, RecordError, RoleError
from advisor.exchange.log_file import LogFile
from advisor.learning.exercises import EXERCISES
from advisor.people.roles import Act, Role, may
from advisor.store import practice_bench
from advisor.store.base import Trust
from advisor.store.log import default_url, open_log
from advisor.store.practice import practice_file
from advisor.store.practice_bench import (
    JOB,
    bench_file,
    bench_url,
    make_bench,
    practice_joint,
    take_to_log,
    weld_coupon,
    work_of,
)
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting

TRAINEE = "Tara, trainee"
BEGUN = datetime(2026, 5, 4, 8, tzinfo=UTC)


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    return tmp_path


@pytest.fixture
def begin():
    opened = []

    def beginning(exercise="bare", seed=5, **more):
        opened.append(open_log(make_bench(TRAINEE, exercise, seed, now=BEGUN, **more)))
        return opened[-1]

    yield beginning
    for log in opened:
        log.close()


def sound(work):
    """The setting of the machine with the best true chance."""
    machine = work.machine
    judging = practice_bench.open_log(bench_url(TRAINEE))
    try:
        window = machine.true_window(machine.start.force_kN * 1.3, judging.rules().judging)
    finally:
        judging.close()
    best = window.loc[window["chance_sound"].idxmax()]
    return machine.dialled(Setting(best.current_kA, best.weld_ms, 1.3 * machine.start.force_kN))


def write_down(log, peeled, minutes=5, **changed):
    """Log a coupon as it was peeled, or otherwise."""
    work = work_of(log, TRAINEE)
    coupon = Coupon(
        made_at=BEGUN + timedelta(minutes=minutes),
        welder=TRAINEE,
        machine=work.machine.machine.name,
        electrode=work.machine.caps,
        stack=work.machine.stack,
        setting=peeled.setting,
        results=peeled.results,
        expulsion=peeled.expulsion,
        job=JOB,
    )
    return log.add_coupon(replace(coupon, **changed), TRAINEE, BEGUN + timedelta(hours=1))


def read_off(result, **changed):
    return (replace(result, **changed),)


# A log of one's own


@pytest.mark.parametrize("exercise", EXERCISES)
def test_it_holds_a_trainee_a_machine_with_caps_and_a_joint_to_cover(begin, exercise):
    log = begin(exercise)
    assert log.is_copy
    assert log.welders() == [TRAINEE]
    machine = work_of(log, TRAINEE).machine
    assert log.machines() == [machine.machine]
    assert log.bench(machine.machine.name).electrode == machine.caps
    joint = practice_joint(log).joint
    assert joint.stack == EXERCISES[exercise].stack
    coverage = log.coverage(joint, BEGUN)
    assert coverage.state is CoverState.MISSING
    assert (coverage.headline == BONDED_MISSING) == joint.stack.is_bonded
    assert {bond.adhesive for bond in joint.stack.bonds if bond.is_bonded} == {
        adhesive.name for adhesive in log.adhesives()
    }
    assert log.verify().is_sound


def test_everything_is_allowed_to_the_trainee_signed_in(begin):
    log = begin().used_by(Trust.SIGNED_IN, TRAINEE)
    peeled = weld_coupon(log, TRAINEE, sound(work_of(log, TRAINEE)))
    logged = write_down(log, peeled)
    log.void_coupon(logged.number, TRAINEE, "to show how", BEGUN + timedelta(hours=2))
    with pytest.raises(RoleError, match="has to sign in to write this"):
        log.save_draft("Somebody else", "x", "{}")


def test_units_come_along(begin):
    assert begin(preferences={"unit_force": "daN"}).preferences(TRAINEE) == {"unit_force": "daN"}


def test_nothing_of_it_touches_or_reaches_the_shop(begin, folder):
    shop = open_log()
    shop.add_welder("Kim", "Kim")
    before = (folder / "log.sqlite").read_bytes()
    log = begin()
    write_down(log, weld_coupon(log, TRAINEE, sound(work_of(log, TRAINEE))))
    assert bench_url(TRAINEE) != default_url()
    assert bench_file(TRAINEE) != practice_file(TRAINEE)
    assert (folder / "log.sqlite").read_bytes() == before
    assert list(shop.iter_coupons()) == []
    with (folder / "bench.jsonl").open("w+b") as file:
        log.export_json_lines(file)
        with pytest.raises(InputError, match="practice"):
            shop.bring_in(LogFile(file), "Kim", BEGUN)
    shop.close()


# It outlives a restart


def test_what_was_welded_is_there_after_a_restart(begin):
    log = begin("three", 77)
    wished = sound(work_of(log, TRAINEE))
    settings = [wished, replace(wished, hold_ms=120.0), replace(wished, current_kA=6.0)]
    peeled = [weld_coupon(log, TRAINEE, setting) for setting in settings]
    take_to_log(log, TRAINEE, 2, BEGUN)
    log.close()
    again = open_log(bench_url(TRAINEE))
    work = work_of(again, TRAINEE)
    assert (work.exercise, work.seed) == ("three", 77)
    assert [work.peeled(number) for number in (1, 2, 3)] == peeled
    assert [(each.number, each.at) for each in work.taken] == [(2, BEGUN)]
    again.close()


def test_beginning_anew_replaces_the_old_bench_and_an_unknown_exercise_does_not(begin):
    log = begin()
    weld_coupon(log, TRAINEE, sound(work_of(log, TRAINEE)))
    log.close()
    with pytest.raises(InputError, match="no exercise 'gold'"):
        make_bench(TRAINEE, "gold", 1)
    kept = open_log(bench_url(TRAINEE))
    assert len(work_of(kept, TRAINEE).welds) == 1
    kept.close()
    assert work_of(begin("zinc", 6), TRAINEE).welds == ()


def test_another_log_holds_no_exercise():
    log = open_log()
    log.add_welder("Kim", "Kim")
    with pytest.raises(RecordError, match="no exercise of Kim that this version knows; begin one"):
        work_of(log, "Kim")
    log.close()


# Welding


def test_what_the_machine_cannot_run_is_refused_and_not_welded(begin):
    log = begin()
    with pytest.raises(LimitError, match="weld current is 30 kA; Practice gun gives"):
        weld_coupon(log, TRAINEE, Setting(30.0, 200.0, 3.0))
    assert work_of(log, TRAINEE).welds == ()


def test_an_exercise_is_full_at_last(begin, monkeypatch):
    log = begin()
    monkeypatch.setattr(practice_bench, "MOST_WELDS", 2)
    setting = sound(work_of(log, TRAINEE))
    for _ in range(2):
        weld_coupon(log, TRAINEE, setting)
    with pytest.raises(InputError, match="2 coupons are welded, as many as one exercise holds"):
        weld_coupon(log, TRAINEE, setting)


def test_a_full_exercise_fits_where_it_is_kept(begin):
    log = begin()
    setting = sound(work_of(log, TRAINEE))
    setting = replace(setting, squeeze_ms=1234.567, hold_ms=1234.567)
    long = work_of(log, TRAINEE)
    full = replace(
        long,
        welds=(setting,) * practice_bench.MOST_WELDS,
        taken=(practice_bench.Taken(300, datetime.now(UTC)),) * (practice_bench.MOST_WELDS + 1),
    )
    practice_bench._keep(log, TRAINEE, full)
    assert work_of(log, TRAINEE) == full


def test_coupons_written_down_as_they_were_cover_the_joint(begin):
    log = begin("wet", 5)
    setting = sound(work_of(log, TRAINEE))
    for n in range(1, 12):
        peeled = weld_coupon(log, TRAINEE, setting)
        take_to_log(log, TRAINEE, n, BEGUN + timedelta(minutes=n))
        logged = write_down(log, peeled, minutes=n)
        coverage = log.coverage(practice_joint(log).joint, BEGUN + timedelta(hours=1))
        if coverage.state is CoverState.COVERED:
            break
    assert logged.verdict.outcome is Outcome.PASS
    assert coverage.setting.same_as(setting)
    written = work_of(log, TRAINEE).written(log.recent_coupons(50))
    assert [each.peeled.number for each in written] == list(range(1, n + 1))
    assert all(not each.misread and not each.other_words for each in written)


# How it was read


def test_a_diameter_read_wrong_is_told_in_mm_and_stays(begin):
    log = begin()
    peeled = weld_coupon(log, TRAINEE, sound(work_of(log, TRAINEE)))
    true = peeled.results[0]
    wrong = read_off(true, largest_mm=true.largest_mm + 0.3)
    logged = write_down(log, peeled, results=wrong)
    (written,) = work_of(log, TRAINEE).written(log.recent_coupons(9))
    (misread,) = written.misread
    assert (misread.interface, misread.which) == (1, "largest")
    assert misread.error_mm == pytest.approx(0.3)
    assert log.coupon(logged.number).coupon.results == wrong


def test_other_words_than_what_was_seen_are_told(begin):
    log = begin()
    setting = sound(work_of(log, TRAINEE))
    peeled = weld_coupon(log, TRAINEE, setting)
    write_down(
        log,
        peeled,
        results=read_off(peeled.results[0], failure=FailureType.INTERFACE),
        expulsion=not peeled.expulsion,
        setting=replace(setting, weld_ms=setting.weld_ms + 20),
    )
    take_to_log(log, TRAINEE, 1, BEGUN)
    (written,) = work_of(log, TRAINEE).written(log.recent_coupons(9))
    seen = peeled.results[0].failure.label
    assert written.misread == ()
    assert written.other_words[0].startswith("setting: weld time")
    assert written.other_words[1] == f"how it failed: interface sheared flat, not {seen}"
    assert written.other_words[2].startswith("expulsion: ")


def test_a_coupon_stands_for_the_one_taken_to_the_form(begin):
    log = begin()
    setting = sound(work_of(log, TRAINEE))
    peeled = [weld_coupon(log, TRAINEE, setting) for _ in range(3)]
    take_to_log(log, TRAINEE, 1, BEGUN + timedelta(minutes=1))
    take_to_log(log, TRAINEE, 2, BEGUN + timedelta(minutes=3))  # and turned back
    take_to_log(log, TRAINEE, 1, BEGUN + timedelta(minutes=4))
    write_down(log, peeled[0], minutes=5)
    numbers = [w.peeled.number for w in work_of(log, TRAINEE).written(log.recent_coupons(9))]
    assert numbers == [1]
    # The same form again, without going back to the bench: the newest weld at this setting.
    write_down(log, peeled[2], minutes=6)
    numbers = [w.peeled.number for w in work_of(log, TRAINEE).written(log.recent_coupons(9))]
    assert numbers == [1, 3]


def test_a_coupon_that_nobody_welded_is_told_and_a_voided_one_frees_its_weld(begin):
    log = begin()
    peeled = weld_coupon(log, TRAINEE, sound(work_of(log, TRAINEE)))
    first = write_down(log, peeled)
    write_down(log, peeled, minutes=7)
    work = work_of(log, TRAINEE)
    assert work.written(log.recent_coupons(9))[1].other_words == (
        "no weld on this bench is left that this coupon could stand for",
    )
    log.void_coupon(first.number, TRAINEE, "twice", BEGUN + timedelta(hours=2))
    (left,) = work.written(log.recent_coupons(9))
    assert left.peeled == peeled


# Who looks behind


def test_leads_and_trainers_may_look_behind_a_bench():
    assert [role for role in Role if may(role, Act.TRUE_WINDOW)] == [Role.LEAD, Role.TRAINER]
