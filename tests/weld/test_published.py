"""Which published columns speak for a stack, and when none do."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from strategies import stacks

from advisor.errors import NoAdviceError
from advisor.weld.published import (
    GALVANNEALED_CURRENT_FACTOR,
    Schedule,
    entry_thickness_mm,
    published_start,
    schedule_for,
    spacing_mm,
    start_value,
)
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

LOW_CARBON = (SteelFamily.LOW_CARBON,)
PUBLISHED = (
    Surface.BARE,
    Surface.GROUND_BARE,
    Surface.HOT_DIP_ZINC,
    Surface.ELECTRO_ZINC,
    Surface.GALVANNEALED,
)


def coated(*faces: Surface, thickness_mm: float = 1.0) -> Stack:
    """Return two equal sheets with the four faces from top to bottom."""
    top, top_in, bottom_in, bottom = faces
    return Stack(
        (
            Sheet(thickness_mm, upper=top, lower=top_in),
            Sheet(thickness_mm, upper=bottom_in, lower=bottom),
        )
    )


def all_faces(face: Surface, thickness_mm: float = 1.0) -> Stack:
    return coated(face, face, face, face, thickness_mm=thickness_mm)


@pytest.mark.parametrize("bare", [Schedule.MEDIUM_FORCE, Schedule.HIGH_FORCE])
@pytest.mark.parametrize("face", [Surface.BARE, Surface.GROUND_BARE, Surface.GALVANNEALED])
def test_bare_steel_takes_the_columns_the_shop_chose(bare, face):
    assert schedule_for(all_faces(face), bare) is bare


@pytest.mark.parametrize("place", range(4))
def test_one_zinc_face_anywhere_takes_the_zinc_table(place):
    for zinc, schedule in (
        (Surface.HOT_DIP_ZINC, Schedule.HOT_DIP),
        (Surface.ELECTRO_ZINC, Schedule.ELECTRO),
    ):
        faces = [Surface.BARE] * 4
        faces[place] = zinc
        assert schedule_for(coated(*faces)) is schedule


def test_hot_dip_goes_before_electrolytic():
    mixed = coated(Surface.BARE, Surface.ELECTRO_ZINC, Surface.HOT_DIP_ZINC, Surface.BARE)
    assert schedule_for(mixed) is Schedule.HOT_DIP


@pytest.mark.parametrize("family", [f for f in SteelFamily if f is not SteelFamily.LOW_CARBON])
def test_another_steel_family_has_no_published_start(family):
    stack = Stack((Sheet(1.0), Sheet(1.0, family)))
    said = f"no published start for {family.label} steel .*welder maker's recommended settings"
    with pytest.raises(NoAdviceError, match=said):
        published_start(stack)


@pytest.mark.parametrize("face", [f for f in Surface if f not in PUBLISHED])
def test_another_surface_has_no_published_start(face):
    with pytest.raises(NoAdviceError, match=f"no published start for {face.label}: start the"):
        published_start(coated(Surface.BARE, Surface.BARE, face, Surface.BARE))


@given(stacks(families=LOW_CARBON, surfaces=PUBLISHED))
def test_a_start_lies_in_the_bands_of_its_row(stack):
    start = published_start(stack)
    assert start.row.over_mm - 1e-9 <= start.thickness_mm <= start.row.upto_mm + 1e-9
    assert start.row.current_kA.holds(start.current_kA)
    assert start.row.weld_ms.holds(start.weld_ms)
    assert start.row.force_kN.holds(start.force_kN)
    assert start.face_mm == start.row.face_mm
    assert f"entered with {start.thickness_mm:g} mm" in start.basis


@given(stacks(families=LOW_CARBON, surfaces=PUBLISHED))
def test_turned_over_the_start_is_the_same(stack):
    assert published_start(stack) == published_start(stack.turned_over())


@given(stacks(families=LOW_CARBON, surfaces=PUBLISHED, bonded=False))
def test_adhesive_moves_no_published_figure(stack):
    wet = Bond("Demo epoxy A", AdhesiveState.WET)
    glued = replace(stack, bonds=(wet,) * len(stack.bonds))
    assert published_start(glued) == published_start(stack)


def test_galvannealed_takes_slightly_more_current_and_nothing_else():
    """Steels: Metallurgy and Applications, 3rd ed., p. 104 (read); the 5 % are from memory."""
    plain, coated_start = (
        published_start(all_faces(f)) for f in (Surface.BARE, Surface.GALVANNEALED)
    )
    ratio = coated_start.current_kA / plain.current_kA
    assert ratio == pytest.approx(GALVANNEALED_CURRENT_FACTOR)
    assert 1.0 < ratio < 1.2  # plain zinc is the one that needs about 20 % more
    assert (coated_start.weld_ms, coated_start.force_kN) == (plain.weld_ms, plain.force_kN)
    assert "galvannealed (from memory)" in coated_start.basis


@pytest.mark.parametrize(
    ("thicknesses_mm", "entry_mm", "why"),
    [
        ((0.8, 1.2), 0.8, "the thinner of the two sheets"),
        ((0.8, 1.2, 2.0), 1.2, "the second thickest of 3 sheets"),
        ((2.0, 0.8, 1.0, 1.2), 1.2, "the second thickest of 4 sheets .*common practice, no sou"),
    ],
)
def test_the_table_is_entered_with_the_governing_thickness(thicknesses_mm, entry_mm, why):
    stack = Stack(tuple(Sheet(t) for t in thicknesses_mm))
    entry, said = entry_thickness_mm(stack)
    assert entry == entry_mm
    assert re.match(why, said)
    start = published_start(stack)
    assert start.force_kN == start_value(Schedule.HIGH_FORCE, "force_kN", entry_mm)


@pytest.mark.parametrize(
    ("schedule", "source"),
    [
        (Schedule.MEDIUM_FORCE, "ISO 14373:2015 Table B.1, uncoated, medium force, long time"),
        (Schedule.HIGH_FORCE, "ISO 14373:2015 Table B.1, uncoated, high force, short time"),
        (Schedule.HOT_DIP, "ISO 14373:2015 Table B.2, hot-dip zinc"),
        (Schedule.ELECTRO, "ISO 14373:2015 Table B.2, electrolytic zinc"),
    ],
)
def test_a_schedule_names_its_table(schedule, source):
    assert schedule.source == source


# Printed pitches of the low-carbon inch table (from memory): 0.040 in 0.75 in, 0.062 in 1.00 in.
@pytest.mark.parametrize(("thickness_in", "spacing_in"), [(0.040, 0.75), (0.062, 1.0)])
def test_spacing_is_the_printed_one_and_30_percent_more_for_three_sheets(thickness_in, spacing_in):
    sheet = Sheet(thickness_in * 25.4)
    two, three = Stack((sheet, sheet)), Stack((sheet, sheet, sheet))
    assert spacing_mm(two) == pytest.approx(spacing_in * 25.4)
    assert spacing_mm(three) == pytest.approx(1.3 * spacing_in * 25.4)


def test_spacing_goes_by_the_thinnest_outside_sheet():
    outside = spacing_mm(Stack((Sheet(1.5), Sheet(0.8), Sheet(1.2))))
    assert outside == pytest.approx(1.3 * spacing_mm(Stack((Sheet(1.2), Sheet(1.2)))))
    assert outside > 1.3 * spacing_mm(Stack((Sheet(0.8), Sheet(0.8))))
