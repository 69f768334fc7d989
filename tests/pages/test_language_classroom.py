"""The class speaks the reader's language throughout: lessons, stacks, the bench, the starts."""

import pytest
from page_helpers import box, press, tables
from said_in_charts import is_left, unsaid
from streamlit.testing.v1 import AppTest

from advisor.heat.parameters import Options
from advisor.language import ENGLISH, speaking
from advisor.learning.exercises import EXERCISES
from advisor.pages.classroom.page import VIEWS
from advisor.pages.parts import chart_files, weld_cache
from advisor.pages.session import BENCH
from advisor.store.log import open_log
from advisor.store.practice_bench import bench_url, make_bench, weld_coupon, work_of
from advisor.teaching.lessons import prepared
from advisor.weld.setting import Setting

NAMES = ("A", "B", "C", "Practice gun", "Practice joint", "PRACTICE", "Invented epoxy", "µΩ")


@pytest.fixture
def database():
    """What the class says does not depend on where the log is kept."""
    return "sqlite"


@pytest.fixture
def german(pseudo, monkeypatch):
    """Let everybody read another language, whose sentences stand in ⟦⟧."""
    monkeypatch.setattr("advisor.language._asked", [lambda: "de"])


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Welds are calculated roughly: what the page says of them is looked at here."""
    monkeypatch.setattr(weld_cache, "WHOLE", Options(fineness=0.5, steps=60))
    weld_cache._kept.clear()
    yield
    weld_cache._kept.clear()


def at(view, address=None, **chosen):
    app = AppTest.from_string(
        "from advisor.pages.shell import run\nrun('class')", default_timeout=60
    )
    for name, value in (address or {}).items():
        app.query_params[name] = value
    for key, value in {"view": view, **chosen}.items():
        app.session_state[key] = value
    app.run()
    assert not app.exception
    return app


@pytest.mark.parametrize("view", VIEWS)
def test_every_view(log, german, view):
    assert unsaid(at(view, {"who": "Sam"}), *NAMES) == []


@pytest.mark.parametrize("lesson", prepared())
def test_every_lesson_and_its_answer(log, german, lesson):
    shown = {f"class·reveal·{lesson}": True}
    app = at("lessons", lesson=lesson, **shown)
    assert tables(app)
    assert unsaid(app, *NAMES) == []


def test_a_guess_and_what_becomes_of_it(log, german):
    app = at("lessons", lesson="thickness", **{"class·reveal·thickness": True})
    box(app, "⟦The class says: size").set_value(9.0).run()
    assert unsaid(app, *NAMES) == []
    app = at("lessons", lesson="unequal", **{"class·reveal·unequal": True})
    app.radio[0].set_value(0).run()
    assert unsaid(app, *NAMES) == []


def test_the_window_of_two_stacks(log, german, monkeypatch):
    monkeypatch.setattr("advisor.teaching.figures.CURRENTS", 2)
    monkeypatch.setattr("advisor.teaching.figures.TIMES", 2)
    app = at("beside", **{"beside-windows": True})
    assert unsaid(app, *NAMES) == []


@pytest.mark.parametrize("guess", [None, 9.0, 20.0])
def test_the_starts_with_and_without_a_guess(log, german, guess):
    app = at("starts", **{"class·guess": True})
    assert unsaid(app, *NAMES) == []
    if guess is not None:
        box(app, "⟦The class says: current").set_value(guess)
        next(t for t in app.toggle if t.label == "⟦Reveal⟧").set_value(True).run()
        assert app.info
        assert unsaid(app, *NAMES) == []


@pytest.fixture
def bench(log):
    """The log of Sam's bench with one coupon, begun beside the shop's own."""
    with speaking(ENGLISH):
        opened = open_log(make_bench("Sam", "three", 7))
    yield opened
    opened.close()


def inside(**chosen):
    return at("bench", {"shop": BENCH, "who": "Sam"}, **chosen)


def test_the_bench_from_outside_and_inside(bench, german):
    assert unsaid(at("bench", {"who": "Sam"}), *NAMES) == []
    assert unsaid(inside(), *NAMES) == []
    app = inside()
    press(app, "⟦Weld a coupon⟧")
    assert app.error
    assert unsaid(app, *NAMES) == []


def test_a_peeled_coupon_and_the_true_window(bench, german):
    start = work_of(bench, "Sam").machine.start
    weld_coupon(bench, "Sam", Setting(start.current_kA, start.weld_ms, start.force_kN))
    weld_coupon(bench, "Sam", Setting(14.0, start.weld_ms, 1.5))
    app = inside(**{"bench·window": True, "bench·read·2": True, "bench·read·1": True})
    assert unsaid(app, *NAMES) == []
    press(app, "⟦Log this coupon⟧")


@pytest.mark.parametrize("exercise", EXERCISES)
def test_every_exercise(log, german, exercise):
    app = at("bench", {"who": "Sam"}, **{"bench·exercise": exercise})
    assert unsaid(app, *NAMES) == []
    with speaking(ENGLISH):
        open_log(make_bench("Sam", exercise, 7)).close()
    assert bench_url("Sam")
    assert unsaid(inside(), *NAMES) == []


def test_the_csv_of_a_stack_s_window_is_english(log, german, monkeypatch):
    monkeypatch.setattr("advisor.teaching.figures.CURRENTS", 2)
    monkeypatch.setattr("advisor.teaching.figures.TIMES", 2)
    made = []
    monkeypatch.setattr(chart_files, "_folded", lambda *given: made.append(given))
    at("beside", **{"beside-windows": True})
    windows = [data for _, data, stem, *_ in made if stem.startswith("window-")]
    assert len(windows) == 2
    for data in windows:
        assert "⟦" in data().to_csv()
        assert "⟦" not in chart_files._in_english(data).to_csv()


def test_the_csv_of_the_window_is_english(bench, german, monkeypatch):
    made = []
    monkeypatch.setattr(chart_files, "_folded", lambda *given: made.append(given))
    inside(**{"bench·window": True})
    (_, data, _, _, about), *_ = made
    assert "⟦" not in chart_files.to_csv(chart_files._in_english(data), about.mark).decode()
    assert not is_left(about.foot)
