"""The chance of a sound weld in a suggestion: both edges, set-point error, the window's ends."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, MACHINE, RULES, advice_on, bench_on, logged, stack_of

from advisor.coupons.rules import ExpulsionRule, JudgingRules
from advisor.learning.choice import EQUAL, WINDOW, at_time
from advisor.learning.model import MachineModel
from advisor.learning.sound import SETPOINT, Outlook, as_row
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting

PAIR = stack_of(1.2, 1.2)
NOTED = replace(RULES, judging=JudgingRules(expulsion=ExpulsionRule.NOTED))
TABLE = Setting(11.0, 210, 3.1)

HISTORIES = {
    "nothing": [],
    "on the target": [logged(n, PAIR, TABLE, 5.4) for n in (1, 2)],
    "small": [logged(n, PAIR, TABLE, 4.5) for n in (1, 2, 3)],
    "large": [logged(n, PAIR, TABLE, 6.4) for n in (1, 2, 3)],
    "expelled": [logged(1, PAIR, replace(TABLE, current_kA=11.5), 5.3, expulsion=True)],
}


def ask(coupons, rules=RULES, machine=MACHINE):
    return advice_on(coupons, machine=machine, rules=rules).suggestion


def outlook(coupons, rules=RULES):
    return Outlook(MachineModel(rules).fit(coupons), coupons)


def in_reach(coupons, found):
    """Return currents in reach, their chances and their steady ones, setting by setting."""
    settings = at_time(bench_on(coupons).reach, found.setting.weld_ms)
    view = outlook(coupons)
    sound = [view.chances(PAIR, CAPS, row[None, :]).sound[0] for row in settings]
    steady = [view.steady_sound(PAIR, CAPS, row[None, :])[0] for row in settings]
    return settings[:, 0], np.array(sound), np.array(steady)


@pytest.mark.parametrize("history", HISTORIES)
def test_no_setting_in_reach_is_clearly_more_likely_sound(history):
    coupons = HISTORIES[history]
    found = ask(coupons)
    currents, sound, steady = in_reach(coupons, found)
    chosen = np.isclose(currents, found.setting.current_kA)
    assert steady[chosen][0] >= steady.max() - EQUAL - 1e-12
    assert found.chance_sound == pytest.approx(sound[chosen][0], abs=1e-12)


@pytest.mark.parametrize("history", HISTORIES)
def test_the_window_holds_what_is_sound_nine_times_in_ten(history):
    coupons = HISTORIES[history]
    found = ask(coupons)
    currents, sound, _ = in_reach(coupons, found)
    if found.window_low_kA is None:
        assert found.window_high_kA is None
        assert sound.max() < WINDOW
        return
    inside = (currents >= found.window_low_kA) & (currents <= found.window_high_kA)
    assert sound[inside].min() >= WINDOW
    assert inside[sound.argmax()]
    beside = np.flatnonzero(inside)[[0, -1]] + [-1, 1]
    assert all(sound[i] < WINDOW for i in beside if 0 <= i < len(sound))


def test_coupons_off_the_target_have_a_window_and_bad_ones_have_none():
    assert ask(HISTORIES["on the target"]).window_low_kA is not None
    # 3.2 mm where 5.5 mm is meant, again and again: no current in reach is good nine times in ten.
    assert ask([logged(n, PAIR, TABLE, 2.6) for n in range(1, 9)]).window_low_kA is None


def test_large_coupons_move_the_suggestion_away_from_expulsion():
    large, target = ask(HISTORIES["large"]), ask(HISTORIES["on the target"])
    assert large.setting.current_kA < target.setting.current_kA
    assert "came out 17 % larger than expected" in large.explanation


def test_expulsion_is_given_as_the_reason_for_less_current():
    found = ask(HISTORIES["expelled"])
    assert found.setting.current_kA < 11.0
    assert "threw metal out at 11.5 kA" in found.explanation


def test_where_expulsion_is_only_noted_it_does_not_count():
    found = ask(HISTORIES["large"], NOTED)
    plain = outlook(HISTORIES["large"], NOTED).chances(PAIR, CAPS, as_row(found.setting))
    assert found.chance_sound == pytest.approx(plain.minimum[0])
    assert found.chance_sound > ask(HISTORIES["large"]).chance_sound
    assert found.chance_expulsion > 0


def test_a_likely_expulsion_is_warned_of():
    strong = Machine("Gun", 15, 6, smallest_current_kA=12.0)
    coupons = [logged(n, PAIR, TABLE, 6.9) for n in (1, 2, 3)]
    found = ask(coupons, machine=strong)
    assert found.chance_expulsion > 0.1
    assert any(note.startswith("The chance of throwing metal out is") for note in found.notes)
    assert not any("throwing metal out" in note for note in ask([]).notes)


# Set-point error


@given(st.floats(7, 14), st.floats(100, 400), st.floats(2, 4))
def test_a_steady_chance_is_the_mean_over_the_set_point_error(current, weld_ms, force):
    view = outlook(HISTORIES["expelled"])
    got = view.steady_sound(PAIR, CAPS, np.array([[current, weld_ms, force]]))[0]
    spread = np.linspace((1 - SETPOINT) * current, (1 + SETPOINT) * current, 61)
    flowing = np.column_stack([spread, np.full(61, weld_ms), np.full(61, force)])
    assert got == pytest.approx(view.chances(PAIR, CAPS, flowing).sound.mean(), abs=0.005)


def test_beside_a_cliff_the_steady_chance_is_lower():
    steep = [
        *[logged(n, PAIR, TABLE, 5.0) for n in range(1, 20)],
        *[
            logged(20 + n, PAIR, replace(TABLE, current_kA=11.8), 5.2, expulsion=True)
            for n in range(20)
        ],
    ]
    view, brink = outlook(steep), as_row(replace(TABLE, current_kA=11.2))
    assert view.steady_sound(PAIR, CAPS, brink)[0] < view.chances(PAIR, CAPS, brink).sound[0]
