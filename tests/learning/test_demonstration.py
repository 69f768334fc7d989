import pytest

from advisor.errors import InputError, NoAdviceError
from advisor.learning.demonstration import thickness_curve
from advisor.weld.published import Schedule
from advisor.weld.sheet import Surface


def test_printed_bands_of_one_row():
    # ISO 14373:2015 Table B.1, high force, over 1.0 to 1.2 mm: 8-12 kA, 8-12 cycles of 50 Hz,
    # 2.5-3.2 kN; minimum 4√1.1 = 4.20 mm.
    point = thickness_curve(Surface.BARE, thicknesses_mm=[1.1]).iloc[0]
    assert (point["current_kA_low"], point["current_kA_high"]) == (8, 12)
    assert (point["weld_ms_low"], point["weld_ms_high"]) == pytest.approx((160, 240))
    assert (point["force_kN_low"], point["force_kN_high"]) == (2.5, 3.2)
    assert point["minimum_mm"] == 4.2


def test_medium_force_is_the_other_group_of_columns():
    # Same row, medium force: 7-9 kA.
    point = thickness_curve(Surface.BARE, Schedule.MEDIUM_FORCE, [1.1]).iloc[0]
    assert (point["current_kA_low"], point["current_kA_high"]) == (7, 9)


@pytest.mark.parametrize(
    "surface", [Surface.BARE, Surface.GALVANNEALED, Surface.ELECTRO_ZINC, Surface.HOT_DIP_ZINC]
)
def test_start_lies_inside_the_band_over_the_whole_range(surface):
    curve = thickness_curve(surface)
    assert (curve["thickness_mm"].iloc[0], curve["thickness_mm"].iloc[-1]) == (0.4, 3.0)
    for name in ("current_kA", "weld_ms", "force_kN"):
        assert (curve[f"{name}_low"] <= curve[f"{name}_start"] + 1e-9).all()
        assert (curve[f"{name}_start"] <= curve[f"{name}_high"] + 1e-9).all()


def test_zinc_starts_above_bare_and_thicker_above_thinner():
    bare, zinc = (thickness_curve(s) for s in (Surface.BARE, Surface.HOT_DIP_ZINC))
    assert (zinc["current_kA_start"] > bare["current_kA_start"]).all()
    assert bare["current_kA_start"].is_monotonic_increasing


def test_refusals():
    with pytest.raises(NoAdviceError, match="no published start for aluminium-silicon"):
        thickness_curve(Surface.ALUMINIUM_SILICON)
    with pytest.raises(InputError, match=r"thickness is 3\.5 mm; the tool covers"):
        thickness_curve(Surface.BARE, thicknesses_mm=[3.5])
