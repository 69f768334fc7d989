"""What stack and setting explain: against a ridge of others, by simulation, and where unsure."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from sklearn.linear_model import LinearRegression, Ridge

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.errors import InputError
from advisor.review.baseline import Baseline
from advisor.review.like_for_like import (
    LARGEST_DOUBT,
    SCATTER,
    SLACK,
    SPREAD,
    STACK_SPREAD,
    explaining,
    fit,
    place_of,
)
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.size import GoverningRule
from advisor.weld.stack import AdhesiveState, Bond, Stack

EACH = GoverningRule.EACH_INTERFACE
THIN = Stack((Sheet(0.8), Sheet(0.8)))
GLUED = Stack((Sheet(1.2), Sheet(1.5)), (Bond("Demo epoxy A", AdhesiveState.CURED),))
THREE = Stack((Sheet(0.8), Sheet(1.0), Sheet(1.2)))
MARTENSITIC = Stack((Sheet(1.2, SteelFamily.PRESS_HARDENED), Sheet(1.0)))
SEED = 17


def a_coupon(stack, kA=8.0, ms=200.0, kN=2.5):
    return Coupon(
        datetime(2026, 3, 2, 9, 0, tzinfo=UTC),
        "Kim",
        "gun 1",
        Electrode(CapShape.DOME, 6.0),
        stack,
        Setting(kA, ms, kN),
        (InterfaceResult(5.0, 5.0, FailureType.BUTTON),) * len(stack.bonds),
    )


def frame(stacks, ratios, values):
    """Coupons at (current, time, force) as ratios to the published start, or to 9 kA."""
    rows = []
    for stack, ratio in zip(stacks, ratios, strict=True):
        place = place_of(stack, EACH)
        kA, ms, kN = (place.columns[f"start_{q}"] for q in ("current_kA", "weld_ms", "force_kN"))
        start = (9.0, 250.0, 3.5) if np.isnan(kA) else (kA, ms, kN)
        rows.append(explaining(a_coupon(stack, *(np.array(start) * ratio)), place))
    return pd.DataFrame(rows).assign(value=values, no_button=False)


def shop(rng, n, effects, growth=6.0, mix=None, sd=0.22, shift=0.0):
    """An invented machine: each stack adds its effect, current its growth."""
    stacks = list(effects)
    which = rng.choice(len(stacks), n, p=mix)
    logs = rng.normal(0, [0.05, 0.08, 0.08], (n, 3))
    values = 5.2 + shift + growth * logs[:, 0] + 1.5 * logs[:, 1] - 2.0 * logs[:, 2]
    values += np.array(list(effects.values()))[which] + rng.normal(0, sd, n)
    return frame([stacks[i] for i in which], np.exp(logs), values)


EFFECTS = {THIN: 0.0, GLUED: -0.5, THREE: -0.2, MARTENSITIC: 0.4}


def inputs_of(stable):
    """The inputs written out once more, each in units of its penalty."""
    logs = [np.log(stable[q] / stable[f"start_{q}"]) for q in ("current_kA", "weld_ms", "force_kN")]
    others = [stable[name] for name in ("wet", "cured", "sheets", "thinness")]
    plain = np.column_stack(logs + others) * np.array(list(SPREAD.values()))
    dummies = pd.get_dummies(stable["stack"]).to_numpy(dtype=float) * STACK_SPREAD
    return np.column_stack([plain, dummies]) / SCATTER


def test_fit_is_the_ridge_with_the_stated_penalties():
    effects = {THIN: 0.0, GLUED: -0.5, THREE: -0.2}
    stable = shop(np.random.default_rng(SEED), 25, effects)
    model, inputs = fit(stable), inputs_of(stable)
    values = stable["value"].to_numpy()
    peer = Ridge(alpha=1.0, solver="svd").fit(inputs, values)
    rows = model.rows(stable)
    expected = values - peer.predict(inputs) + values.mean()
    assert model.adjusted(values, rows) == pytest.approx(expected)
    assert model.centre == pytest.approx(values.mean())
    # Beliefs are further rows: the variance of an unpenalised fit on both together is the doubt.
    wide = np.column_stack([np.ones(25), inputs])
    beliefs = np.column_stack([np.zeros(inputs.shape[1]), np.eye(inputs.shape[1])])
    both = np.vstack([wide, beliefs])
    variance = np.linalg.inv(both.T @ both)
    assert model.doubt(rows) == pytest.approx(((wide @ variance) * wide).sum(axis=1))


def test_one_stack_at_one_setting_is_a_plain_mean_and_its_standard_deviation():
    values = np.random.default_rng(SEED).normal(5.2, 0.2, 25)
    stable = frame([THIN] * 25, np.ones((25, 3)), values)
    model = fit(stable)
    assert model.sd == pytest.approx(values.std(ddof=1))
    assert model.df == pytest.approx(24)
    rows = model.rows(stable)
    assert model.adjusted(values, rows) == pytest.approx(values)
    assert model.doubt(rows) == pytest.approx(np.full(25, 1 / 25))


def test_scatter_is_not_flattered_by_the_fit():
    rng = np.random.default_rng(SEED)
    fitted = [fit(shop(rng, 25, EFFECTS)) for _ in range(300)]
    squares = np.array([model.sd**2 for model in fitted])
    print(
        f"sd² over truth {squares.mean() / 0.22**2:.3f}, df {np.mean([m.df for m in fitted]):.1f}"
    )
    assert squares.mean() == pytest.approx(0.22**2, rel=0.08)
    # and it varies as one with so many degrees of freedom
    df = np.mean([model.df for model in fitted])
    assert 2 * squares.mean() ** 2 / squares.var() == pytest.approx(df, rel=0.35)


def shares_ever(mix, shift=0.0, machines=200, like_for_like=True):
    """Share of machines whose average, and whose single coupons, leave the limits within 60."""
    rng, averages, singles, ends = np.random.default_rng(SEED), 0, 0, 0
    for _ in range(machines):
        baseline = Baseline.of(shop(rng, 25, EFFECTS, mix=mix[0]), like_for_like)
        held = baseline.hold(shop(rng, 60, EFFECTS, mix=mix[1], shift=shift))
        found, limits = held.average, held.limits
        out = (found.averages < found.lower) | (found.averages > found.upper)
        averages += out.any()
        ends += out[-1]
        singles += np.any((held.judged < limits.lower) | (held.judged > limits.upper))
    return averages / machines, singles / machines, ends / machines


EVEN, FIRST, THEN = [0.25] * 4, [0.35, 0.15, 0.15, 0.35], [0.05, 0.6, 0.3, 0.05]


def plain_shares(machines=200):
    """The same for a shop that welds one stack at one setting, on a plain chart."""
    rng, out = np.random.default_rng(SEED), 0
    for _ in range(machines):
        stable, later = rng.normal(5.2, 0.22, 25), rng.normal(5.2, 0.22, 60)
        baseline = Baseline.of(frame([THIN] * 25, np.ones((25, 3)), stable), False)
        found = baseline.hold(frame([THIN] * 60, np.ones((60, 3)), later)).average
        out += np.any((found.averages < found.lower) | (found.averages > found.upper))
    return out / machines


def test_unlike_stacks_and_settings_alarm_no_more_than_a_plain_chart_of_like_ones():
    plain = plain_shares()
    even, changed = shares_ever((EVEN, EVEN)), shares_ever((FIRST, THEN))
    print(f"average left its limits within 60: plain {plain}, mixed {even}, changed {changed}")
    for averages, singles, ends in (even, changed):
        assert abs(averages - plain) <= 0.05
        assert averages <= 0.10
        assert singles <= 0.20
        assert ends <= 0.02


def test_without_like_for_like_a_change_of_the_mix_looks_like_drift():
    averages, _, _ = shares_ever((FIRST, THEN), machines=100, like_for_like=False)
    print(f"changed mix on a plain chart: {averages}")
    assert averages > 0.2


def test_a_true_step_is_still_seen_among_unlike_stacks():
    averages, _, ends = shares_ever((EVEN, EVEN), shift=-0.4, machines=100)
    print(f"step of -0.4: seen within 60 {averages}, at the end {ends}")
    assert averages >= 0.95
    assert ends >= 0.65


def test_a_stack_the_stable_period_did_not_hold_is_not_judged():
    rng = np.random.default_rng(SEED)
    effects = {THIN: 0.0, GLUED: -0.5}
    model = fit(shop(rng, 25, effects))
    later = frame([THIN, THREE, MARTENSITIC], np.ones((3, 3)), [5.0, 5.0, 5.0])
    assert model.known(later, model.rows(later)).tolist() == [True, False, False]


def test_a_stack_welded_once_is_unsure_and_welded_twice_is_not():
    rng = np.random.default_rng(SEED)
    logs = np.exp(rng.normal(0, 0.03, (24, 3)))
    for times, is_known in ((1, False), (3, True)):
        stacks = [THIN] * (24 - times) + [Stack((Sheet(0.9), Sheet(0.9)))] * times
        model = fit(frame(stacks, logs, rng.normal(5.2, 0.2, 24)))
        later = frame(stacks[-1:], np.ones((1, 3)), [5.0])
        rows = model.rows(later)
        assert (model.doubt(rows)[0] <= LARGEST_DOUBT) is np.bool_(is_known)
        assert model.known(later, rows).tolist() == [is_known]


@pytest.mark.parametrize("quantity", [0, 1, 2])
@pytest.mark.parametrize("way", [-1, 1])
def test_a_setting_far_from_those_of_the_stable_period_is_not_judged(quantity, way):
    rng = np.random.default_rng(SEED)
    logs = rng.normal(0, 0.05, (25, 3))
    model = fit(frame([THIN] * 25, np.exp(logs), rng.normal(5.2, 0.2, 25)))
    end = (logs.max(axis=0) if way > 0 else logs.min(axis=0)) * (np.arange(3) == quantity)
    for beyond, is_known in ((0.5 * SLACK, True), (1.5 * SLACK, False)):
        at = end + way * beyond * (np.arange(3) == quantity)
        later = frame([THIN], np.exp(at)[None, :], [5.0])
        assert model.known(later, model.rows(later)).tolist() == [is_known]


def test_a_stack_without_a_published_start_is_held_against_its_own_usual_setting():
    rng = np.random.default_rng(SEED)
    stable = shop(rng, 40, {THIN: 0.0, MARTENSITIC: 0.4}, sd=0.05)
    assert stable["start_current_kA"].isna().any()
    model = fit(stable)
    later = frame([MARTENSITIC] * 2, np.array([[1, 1, 1], [1.05, 1, 1]]), [5.6, 5.6 + 6 * 0.0488])
    rows = model.rows(later)
    assert model.known(later, rows).all()
    first, second = model.adjusted(later["value"].to_numpy(), rows)
    # 5 % more current explains the larger weld; no effect of the setting is left
    assert second - first == pytest.approx(0, abs=0.05)
    assert first == pytest.approx(model.centre, abs=0.15)


def test_only_stacks_without_a_published_start_can_be_charted_too():
    rng = np.random.default_rng(SEED)
    model = fit(shop(rng, 25, {MARTENSITIC: 0.4}))
    later = frame([MARTENSITIC, THIN], np.ones((2, 3)), [5.6, 5.2])
    assert model.known(later, model.rows(later)).tolist() == [True, False]


def test_slopes_found_are_those_the_coupons_were_made_with():
    stable = shop(np.random.default_rng(SEED), 400, {THIN: 0.0, GLUED: -0.5}, sd=0.2)
    model = fit(stable)
    slopes = model.slopes[:3] * np.array(list(SPREAD.values())[:3]) / SCATTER
    assert slopes == pytest.approx([6.0, 1.5, -2.0], abs=0.45)
    # far more coupons than beliefs: a fit without penalties says the same
    free = LinearRegression().fit(inputs_of(stable)[:, :3], stable["value"])
    assert free.coef_[0] == pytest.approx(model.slopes[0], abs=0.3)


def test_what_a_stack_says_is_the_same_either_way_up():
    stack = Stack(
        (Sheet(0.8, upper=Surface.HOT_DIP_ZINC), Sheet(1.2), Sheet(1.0)),
        (Bond("Demo epoxy A", AdhesiveState.WET), Bond()),
    )
    place, turned = place_of(stack, EACH), place_of(stack.turned_over(), EACH)
    assert (place.title, place.columns) == (turned.title, turned.columns)
    assert place.roots == pytest.approx(turned.roots[::-1])
    assert place.columns["sheets"] == 3
    assert (place.columns["wet"], place.columns["cured"]) == (1, 0)
    assert place.columns["start_current_kA"] == published_start(stack).current_kA


def test_a_rule_that_says_nothing_about_four_sheets_gives_no_place():
    four = Stack((Sheet(1.0),) * 4)
    assert place_of(four, GoverningRule.WHOLE_STACK) is None
    assert place_of(four, EACH).columns["sheets"] == 4


def test_a_part_cured_bond_counts_as_cured():
    part = Stack(THIN.sheets, (Bond("Demo epoxy A", AdhesiveState.PART_CURED),))
    assert place_of(part, EACH).columns["cured"] == 1


def test_two_coupons_are_too_few_to_learn_from():
    stable = frame([THIN] * 2, np.ones((2, 3)), [5.0, 5.1])
    with pytest.raises(InputError, match="the stable period has 2 coupons with a size"):
        fit(stable)
