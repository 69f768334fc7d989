"""The practice bench on the page Class: weld, peel, read, log with the real form, cover a joint."""

import re
from dataclasses import replace

import pytest
from page_helpers import box, html, press, told
from streamlit.testing.v1 import AppTest

from advisor.coupons.coverage import CoverState
from advisor.learning.bench_machine import MOST_SEED
from advisor.pages.parts.units_choice import UnitChoice
from advisor.pages.session import Session
from advisor.pages.visit import Visit
from advisor.people.roles import Role
from advisor.store.log import open_log
from advisor.store.practice_bench import (
    bench_file,
    bench_url,
    make_bench,
    practice_joint,
    weld_coupon,
    work_of,
)
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting

VIEW = "Practice bench"
#: A machine on which the published start of the exercise is sound nearly always.
KIND, GENTLE = "bare", 7


@pytest.fixture
def database():
    """A practice bench is always a file, whatever the shop's log is kept in."""
    return "sqlite"


def at(page="class", **address):
    script = f"from advisor.pages.shell import run\nrun({page!r})"
    app = AppTest.from_string(script, default_timeout=30)
    for name, value in {"view": VIEW, **address}.items():
        app.query_params[name] = value
    app.run()
    assert not app.exception
    return app


@pytest.fixture
def bench_log(log):
    """The log of Sam's bench, begun beside the shop's own."""
    opened = open_log(make_bench("Sam", KIND, GENTLE))
    yield opened
    opened.close()


def inside():
    return at(shop="bench", who="Sam")


def set_to(app, current_kA, weld_ms, force_kN):
    box(app, "Current").set_value(current_kA)
    box(app, "Weld time").set_value(weld_ms)
    box(app, "Force").set_value(force_kN)


def said(app):
    assert not app.exception
    return " ".join(element.value for element in app.markdown) + " ".join(told(app))


def start_of(log):
    start = work_of(log, "Sam").machine.start
    return Setting(start.current_kA, start.weld_ms, 2.5)


# Outside


def test_an_exercise_is_begun_and_gone_back_to(log):
    app = at()
    assert "nothing here reaches the shop's log" in said(app)
    app.number_input(key="bench·number").set_value(GENTLE)
    press(app, "Begin this exercise")
    assert "PRACTICE BENCH – a virtual machine" in html(app)
    assert "Virtual machine 7." in said(app)
    press(app, "Back to the shop")
    assert "PRACTICE BENCH" not in html(app)
    assert "You have begun: **Two bare sheets, machine 7, 0 welded**." in said(app)
    press(app, "Go on with it")
    assert "PRACTICE BENCH – a virtual machine" in html(app)


def test_a_machine_is_drawn_when_no_number_is_given(log):
    app = at()
    press(app, "Begin this exercise")
    number = re.search(r"Virtual machine (\d+)\.", said(app))[1]
    assert 0 <= int(number) <= MOST_SEED


def test_nobody_and_a_copy_are_told_where_it_begins(log):
    log.add_welder("Kim", "Sam")
    assert "Choose your name at the top first" in told(at())[0]
    demo = at(shop="demo")
    assert "leave this place first" in told(demo)[0]
    press(demo, "Leave the demo")
    assert "shop" not in demo.query_params


# Inside


def test_what_cannot_be_welded_is_told_and_kept(bench_log):
    app = inside()
    press(app, "Weld a coupon")
    assert any("give the current and the weld time and the force" in text for text in told(app))
    set_to(app, 25.0, 180.0, 2.5)
    press(app, "Weld a coupon")
    assert any("weld current is 25 kA; Practice gun gives 3 to 18 kA" in t for t in told(app))
    assert box(app, "Current").value == 25.0
    assert work_of(bench_log, "Sam").welds == ()


def test_a_coupon_is_read_from_a_drawing_or_in_words(bench_log):
    app = inside()
    set_to(app, 9.0, 180.0, 2.5)
    press(app, "Weld a coupon")
    peeled = work_of(bench_log, "Sam").peeled(1)
    small = f"{peeled.results[0].smallest_mm:.2f} mm"
    assert "A lump of metal was pulled out" in html(app)
    assert 'aria-label="longest way across, between the jaws of a calliper"' in said(app)
    # Neither its numbers nor the name of its failure are given away.
    assert small not in html(app) + said(app)
    assert FailureType.BUTTON.label not in html(app) + said(app)
    next(t for t in app.toggle if t.label == "Read it for me").set_value(True).run()
    assert f"smallest {small}" in html(app)


def test_an_advised_setting_is_set_and_what_it_took_is_told(bench_log):
    app = inside()
    assert "The advisor would weld next: **9.0 kA · 180 ms · 2.50 kN**" in said(app)
    press(app, "Set the machine to it")
    assert box(app, "Current").value == 9.0
    press(app, "Weld a coupon")
    assert (
        "Coupons welded **1**, logged **0**, passes in a row **0**; the joint asks for 2."
        in said(app)
    )
    assert box(app, "Current").value == 9.0  # as it was left


def take_and_log(app, peeled, **changed):
    """Log the coupon that is shown with the real form, and come back to the bench."""
    press(app, "Log this coupon")
    assert f"Setting of practice weld {peeled.number}." in said(app)
    assert box(app, "Current").value == peeled.setting.current_kA
    result = peeled.results[0]
    box(app, "Smallest").set_value(changed.get("smallest", result.smallest_mm))
    box(app, "Largest").set_value(result.largest_mm)
    how = next(g for g in app.button_group if g.label == "How it failed")
    how.set_value(result.failure)
    press(app, "Judge and keep")
    return inside()


def test_from_the_first_weld_to_a_covered_joint(bench_log, log):
    app, numbers = inside(), iter(range(1, 9))
    coverage = None
    for number in numbers:
        set_to(app, 9.0, 180.0, 2.5)
        press(app, "Weld a coupon")
        app = take_and_log(app, work_of(bench_log, "Sam").peeled(number))
        assert "Read and written down as it was." in [s.value for s in app.success]
        coverage = bench_log.coverage(practice_joint(bench_log).joint)
        if coverage.state is CoverState.COVERED:
            break
    assert coverage.setting.current_kA == 9.0
    took = f"Covered after {number} coupons welded and {number} logged."
    assert took in [s.value for s in app.success]
    if number == 2:
        # 0.025 to the power of one half.
        assert "2 of 2 passes leave a true rate as low as 16 %" in said(app)
    assert list(log.iter_coupons()) == []
    # What is welded on top of it does not count for what it took.
    set_to(app, 9.2, 180.0, 2.5)
    press(app, "Weld a coupon")
    assert took in [s.value for s in app.success]


def test_a_reading_error_is_told_and_the_log_stays(bench_log):
    app = inside()
    set_to(app, 9.0, 180.0, 2.5)
    press(app, "Weld a coupon")
    peeled = work_of(bench_log, "Sam").peeled(1)
    wrong = peeled.results[0].smallest_mm - 0.4
    app = take_and_log(app, peeled, smallest=wrong)
    assert "reading error -0.40 mm" in html(app)
    assert bench_log.coupon(1).coupon.results[0].smallest_mm == pytest.approx(wrong)


def test_the_true_window_shows_chances_marks_and_where_the_start_lies(bench_log):
    for _ in range(2):
        weld_coupon(bench_log, "Sam", Setting(9.0, 180.0, 2.5))
    app = inside()
    assert "True chance" not in said(app)
    next(t for t in app.toggle if t.label == "Show the true window").set_value(True).run()
    work = work_of(bench_log, "Sam")
    chance = work.machine.true_chance(work.welds[-1], bench_log.rules().judging, 2)
    assert chance > 0.9
    assert "True chance of a sound weld at the last setting" in said(app)
    assert "not yet judged" in html(app)
    assert "published start" in html(app)


# Who may look behind


@pytest.mark.parametrize(
    ("role", "may"), [(Role.WELDER, False), (Role.LEAD, True), (Role.TRAINER, True)]
)
def test_on_a_guarded_server_leads_and_trainers_look_behind(bench_log, role, may):
    def look():
        return replace(bench_log.people()[0], role=role)

    def page():
        import streamlit as st

        from advisor.pages.classroom import bench

        bench.show(st.session_state["visiting"])

    app = AppTest.from_function(page, default_timeout=30)
    app.query_params["shop"] = "bench"
    app.session_state["visiting"] = Session(
        bench_log, "Sam", UnitChoice.read({}), Visit(look(), look)
    )
    app.run()
    assert not app.exception
    asked = [t.label for t in app.toggle if t.label == "Show the true window"]
    assert bool(asked) is may
    refused = "The true window of this machine is shown to a lead or a trainer."
    assert (refused in [c.value for c in app.caption]) is not may


def test_an_instructor_looks_behind_somebody_s_bench(bench_log, log):
    log.add_welder("Tony", "Sam")
    weld_coupon(bench_log, "Sam", start_of(bench_log))
    app = at(who="Tony")
    app.selectbox(key="bench·whose").set_value("Sam").run()
    assert "**Sam**: Two bare sheets, machine 7, 1 welded" in said(app)
    assert "True chance of a sound weld at the last setting" in said(app)
    assert bench_file("Sam").exists()
    assert bench_url("Sam") in bench_log.url
