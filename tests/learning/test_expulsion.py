import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from learning_makers import CAPS, RULES, logged, stack_of, turned

from advisor.errors import InputError, NoAdviceError
from advisor.learning.expulsion import (
    FEATURES,
    PRIOR_FILE,
    ExpulsionModel,
    load_expulsion_prior,
    read_expulsion_prior,
)
from advisor.learning.model import MachineModel
from advisor.resources import reference
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import Schedule, published_start, rows
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface
from advisor.weld.stack import AdhesiveState

PAIR = stack_of(1.2, 1.2)
START = published_start(PAIR, RULES.bare_schedule)
AT_START = Setting(round(START.current_kA, 1), round(START.weld_ms), round(START.force_kN, 1))


def chance(model, current=1.0, time=1.0, force=1.0, stack=PAIR, caps=CAPS):
    """Chance at multiples of the published start."""
    start = published_start(stack, RULES.bare_schedule)
    setting = [[current * start.current_kA, time * start.weld_ms, force * start.force_kN]]
    return model.probability(stack, caps, np.array(setting))[0]


def coupon(number, factor, *, expulsion, stack=PAIR, **changes):
    setting = replace(AT_START, current_kA=round(factor * START.current_kA, 2))
    return logged(number, stack, setting, 5.2, expulsion=expulsion, **changes)


# Before any coupon


def test_the_published_bands_end_where_expulsion_is_still_unlikely():
    prior = ExpulsionModel(RULES)
    for schedule in Schedule:
        for row in rows(schedule):
            surface = {
                Schedule.HOT_DIP: Surface.HOT_DIP_ZINC,
                Schedule.ELECTRO: Surface.ELECTRO_ZINC,
            }.get(schedule, Surface.BARE)
            stack = stack_of(row.upto_mm - 0.05, row.upto_mm - 0.05, surface=surface)
            bare = schedule if surface is Surface.BARE else RULES.bare_schedule
            model = ExpulsionModel(replace(RULES, bare_schedule=bare))
            start = published_start(stack, bare)
            caps = Electrode(CapShape.DOME, row.face_mm)
            top = np.array([[row.current_kA.high, start.weld_ms, start.force_kN]])
            assert model.probability(stack, caps, top)[0] < 0.35, (schedule, row.upto_mm)
    assert chance(prior) < 0.03
    assert chance(prior, current=1.4) > 0.7


@given(st.floats(0.7, 1.5), st.floats(0.7, 1.5), st.floats(0.7, 1.5), st.floats(1.01, 1.2))
def test_before_coupons_more_current_and_time_expel_more_and_more_force_less(
    current, time, force, factor
):
    prior = ExpulsionModel(RULES)
    here = chance(prior, current, time, force)
    assert chance(prior, current * factor, time, force) >= here
    assert chance(prior, current, time * factor, force) >= here
    assert chance(prior, current, time, force * factor) <= here


def test_adhesive_narrows_the_window_and_a_larger_face_widens_it():
    prior = ExpulsionModel(RULES)
    wet = stack_of(1.2, 1.2, state=AdhesiveState.WET)
    assert chance(prior, 1.1, stack=wet) > chance(prior, 1.1)
    assert chance(prior, 1.1, caps=Electrode(CapShape.DOME, 6)) < chance(prior, 1.1)


def test_fitting_to_nothing_changes_nothing():
    fitted = ExpulsionModel(RULES).fit([])
    assert fitted.n_coupons == 0
    assert chance(fitted, 1.2) == chance(ExpulsionModel(RULES), 1.2)


# With coupons


def test_a_coupon_that_expelled_raises_the_chance_there_and_one_that_did_not_lowers_it():
    before = chance(ExpulsionModel(RULES), 1.1)
    with_one = ExpulsionModel(RULES).fit([coupon(1, 1.1, expulsion=True)])
    without = ExpulsionModel(RULES).fit([coupon(1, 1.1, expulsion=False)])
    assert chance(without, 1.1) < before < chance(with_one, 1.1)
    assert (with_one.n_coupons, with_one.n_expelled) == (1, 1)


def test_many_coupons_outweigh_the_prior():
    # At 1.3 times the start the prior expects every second weld to expel.
    assert 0.4 < chance(ExpulsionModel(RULES), 1.3) < 0.7
    calm = [coupon(n, 1.3, expulsion=False) for n in range(30)]
    wild = [coupon(n, 0.9, expulsion=True) for n in range(30)]
    assert chance(ExpulsionModel(RULES).fit(calm), 1.3) < 0.03
    assert chance(ExpulsionModel(RULES).fit(wild), 0.9) > 0.9


def test_coupons_without_a_size_speak_too_and_voided_or_unpublished_ones_do_not():
    empty = logged(1, PAIR, AT_START, None, expulsion=True)
    assert ExpulsionModel(RULES).fit([empty]).n_expelled == 1
    silent = [
        replace(empty, voided="wrong caps"),
        logged(2, stack_of(1, 1, surface=Surface.WELD_PRIMER), AT_START, 5.0, expulsion=True),
    ]
    assert ExpulsionModel(RULES).fit(silent).n_coupons == 0


def test_a_machine_that_welds_large_is_expected_to_expel_early():
    large = [logged(n, PAIR, AT_START, 6.4) for n in (1, 2, 3)]
    small = [logged(n, PAIR, AT_START, 4.6) for n in (1, 2, 3)]
    hot, cool = (
        ExpulsionModel(RULES).fit(made, MachineModel(RULES).fit(made).off_table)
        for made in (large, small)
    )
    assert chance(hot, 1.1) > chance(ExpulsionModel(RULES), 1.1) > chance(cool, 1.1)


def test_turning_stacks_over_changes_nothing():
    stack = stack_of(0.8, 1.2, 1.0)
    made = [logged(n, stack, Setting(9 + n, 160, 2.3), 5, 5, expulsion=n > 1) for n in (1, 2)]
    there = ExpulsionModel(RULES).fit(made)
    back = ExpulsionModel(RULES).fit([turned(each) for each in made])
    assert chance(back, 1.1, stack=stack.turned_over()) == chance(there, 1.1, stack=stack)


def test_a_stack_without_a_published_start_is_refused():
    with pytest.raises(NoAdviceError, match="no published start for weld-through primer"):
        ExpulsionModel(RULES).probability(
            stack_of(1, 1, surface=Surface.WELD_PRIMER), CAPS, np.array([[9.0, 200, 2.5]])
        )


# The table


@pytest.fixture
def changed(tmp_path):
    def change(edit):
        path = tmp_path / PRIOR_FILE
        edit(pd.read_csv(reference(PRIOR_FILE))).to_csv(path, index=False)
        return path

    return change


def test_every_row_has_a_reason_of_one_sentence_and_a_source():
    table = pd.read_csv(reference(PRIOR_FILE))
    assert list(table["name"]) == ["at_start", *FEATURES]
    assert table["reason"].str.len().min() > 30
    named = re.compile(r"from memory|common practice, no source|[a-z0-9]+(-[a-z0-9]+)+")
    assert [s for s in table["source"] if not named.fullmatch(s)] == []


def test_the_shipped_beliefs_are_read_in_order():
    table = pd.read_csv(reference(PRIOR_FILE), index_col="name")
    prior = load_expulsion_prior()
    assert dict(zip(["at_start", *FEATURES], prior.means, strict=True)) == dict(table["mean"])


def test_a_missing_row_is_refused(changed):
    path = changed(lambda table: table[table["name"] != "force"])
    with pytest.raises(InputError, match=r"must have one row for each of at_start, .*; it has"):
        read_expulsion_prior(path)


@pytest.mark.parametrize("width", [0.0, None])
def test_a_width_of_zero_or_none_is_refused(changed, width):
    path = changed(
        lambda table: table.assign(sd=table["sd"].mask(table["name"] == "current", width))
    )
    with pytest.raises(InputError, match="the width of current is"):
        read_expulsion_prior(path)
