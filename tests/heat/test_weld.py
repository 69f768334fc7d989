"""A whole weld: grid and steps, what is kept, what is refused."""

import csv
import time
from dataclasses import fields, replace

import numpy as np
import pytest

from advisor.errors import AdvisorError, InputError, NoAdviceError
from advisor.heat.cases import published_cases
from advisor.heat.parameters import PARAMETERS_FILE, ContactParameters, Options
from advisor.heat.weld import simulate
from advisor.resources import reference
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import Schedule
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

COARSE = Options(fineness=0.6, steps=100, frames=10)
CAP = Electrode(CapShape.FLAT, 5.0)
SETTING = Setting(8.0, 260, 1.7)
STACK = Stack((Sheet(1.1), Sheet(1.1)))


@pytest.mark.parametrize("row", [2, 6])
def test_half_the_step_changes_the_nugget_little(welds, row):
    case, usual = welds.of(Schedule.MEDIUM_FORCE)[row]
    sooner = case.run(Options(steps=480, frames=4)).diameters_mm[0]
    assert sooner == pytest.approx(usual.diameters_mm[0], rel=0.02)


@pytest.mark.parametrize("row", [0, 6])
def test_half_the_cell_changes_the_nugget_little(welds, row):
    """Long steps, the same for both, because it is the cells that are compared."""
    case, _ = welds.of(Schedule.MEDIUM_FORCE)[row]
    usual, finer = (
        case.run(Options(fineness=each, steps=60, frames=4)).diameters_mm[0] for each in (1, 2)
    )
    assert finer == pytest.approx(usual, rel=0.02)


def test_frames_show_the_temperature_of_every_cell(welds):
    _, weld = welds.of(Schedule.MEDIUM_FORCE)[3]
    frames = weld.frames
    assert 35 <= len(frames.times_ms) <= 45
    assert frames.temperature.dtype == np.float32
    assert frames.temperature.shape[1:] == (len(frames.z_edges_mm) - 1, len(frames.r_edges_mm) - 1)
    assert np.nanmax(frames.temperature) <= weld.hottest_degC + 1
    assert np.nanmin(frames.temperature) > 15
    assert {0.0, 1.1, 2.2} <= set(np.round(frames.z_edges_mm, 9))
    assert np.isnan(frames.temperature).any()
    assert np.isfinite(frames.temperature[:, :, 0]).all()


def test_what_is_kept_over_time_fits_together(welds):
    _, weld = welds.of(Schedule.MEDIUM_FORCE)[3]
    assert weld.times_ms[-1] == pytest.approx(260)
    assert np.all(np.diff(weld.nugget_mm, axis=0) >= 0)
    assert np.all(np.diff(weld.contact_mm, axis=0) >= 0)
    assert weld.contact_mm.shape == (len(weld.times_ms), 3)
    assert weld.weld_current_kA == pytest.approx(8.0)
    volts = weld.resistance_uohm * weld.weld_current_kA * 1e-3
    seconds = np.diff(weld.times_ms, prepend=0) / 1e3
    assert np.sum(volts * weld.weld_current_kA * 1e3 * seconds) == pytest.approx(
        weld.energy.joule_J, rel=1e-6
    )


def test_wet_adhesive_changes_nothing_by_itself_and_says_so():
    wet = replace(STACK, bonds=(Bond("any", AdhesiveState.WET),))
    plain, bonded = (simulate(each, SETTING, CAP, COARSE) for each in (STACK, wet))
    assert bonded.diameters_mm == plain.diameters_mm
    assert "no published figure" in bonded.notes[0]
    assert plain.notes == ()
    given = simulate(wet, SETTING, CAP, replace(COARSE, contact_factors=(2.0,)))
    assert given.notes == ()
    assert given.diameters_mm != plain.diameters_mm


@pytest.mark.parametrize(
    ("stack", "match"),
    [
        (Stack((Sheet(1), Sheet(1)), (Bond("any", AdhesiveState.CURED),)), "cured film insulates"),
        (Stack((Sheet(1, lower=Surface.WELD_PRIMER), Sheet(1))), "weld-through primer"),
        (Stack((Sheet(1, SteelFamily.STAINLESS), Sheet(1))), "no figures for stainless"),
    ],
)
def test_what_it_has_no_figures_for_is_refused(stack, match):
    with pytest.raises(NoAdviceError, match=match):
        simulate(stack, SETTING, CAP, COARSE)


def test_a_sheet_outside_0_4_to_3_mm_is_refused():
    with pytest.raises(AdvisorError, match=r"3\.2 mm; the tool covers 0\.4 to 3 mm"):
        simulate(Stack((Sheet(3.2), Sheet(2.0))), SETTING, CAP)


@pytest.mark.parametrize(
    ("changed", "match"),
    [
        ({"fineness": 0.1}, "fineness of the grid is 0.1; it must be 0.4 to 3"),
        ({"steps": 5}, "number of time steps is 5"),
        ({"contact_factors": (0.0,)}, "factor on a contact's resistance is 0"),
        ({"neighbour_pitch_mm": 4.0}, "neighbour weld is 4 mm away"),
    ],
)
def test_options_outside_their_limits_are_refused(changed, match):
    with pytest.raises(InputError, match=match):
        Options(**changed)


def test_factors_have_to_fit_the_interfaces():
    with pytest.raises(InputError, match="2 factors on contacts were given for 1 interfaces"):
        simulate(STACK, SETTING, CAP, Options(contact_factors=(1.0, 1.0)))


def test_every_fitted_figure_gives_its_reason():
    with reference(PARAMETERS_FILE).open(encoding="utf-8", newline="") as opened:
        rows = list(csv.DictReader(opened))
    assert {row["name"] for row in rows} == {each.name for each in fields(ContactParameters)}
    assert len(rows) <= 6
    assert all(len(row["reason"]) > 20 for row in rows)


def test_the_middle_of_the_medium_force_row_takes_little_time():
    """About half a second of one core; ten times that is a mistake somewhere."""
    case = next(iter(published_cases((Schedule.MEDIUM_FORCE,))))
    start = time.process_time()
    case.run()
    assert time.process_time() - start < 5
