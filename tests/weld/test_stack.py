"""Stacks: 2 to 4 sheets, at most 3:1, the same stack when turned over."""

import pytest
from hypothesis import given
from strategies import stacks

from advisor.errors import InputError
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import UNBONDED, AdhesiveState, Bond, Stack

WET = Bond("Demo epoxy A", AdhesiveState.WET)
CURED = Bond("Demo epoxy A", AdhesiveState.CURED)


def stack_of(*thicknesses_mm: float) -> Stack:
    return Stack(tuple(Sheet(t) for t in thicknesses_mm))


@pytest.mark.parametrize("count", [0, 1, 5])
def test_a_stack_has_two_to_four_sheets(count):
    with pytest.raises(InputError, match=f"2 to 4 sheets; this one has {count}"):
        stack_of(*[1.0] * count)


def test_interfaces_are_one_less_than_sheets():
    with pytest.raises(InputError, match="3 sheets have 2 interfaces; 1 were given"):
        Stack((Sheet(1), Sheet(1), Sheet(1)), (WET,))


# Scope of ISO 14373:2015 (read): thickness ratio up to 3:1.
@pytest.mark.parametrize(
    ("thin", "thick"), [(0.4, 1.2), (0.7, 2.1), (0.8, 2.4), (0.9, 2.7), (0.95, 2.85), (1.0, 3.0)]
)
def test_exactly_three_to_one_is_accepted(thin, thick):
    assert stack_of(thin, thick).total_mm == pytest.approx(thin + thick)
    assert stack_of(thick, thin, thick)


@pytest.mark.parametrize(
    ("thicknesses_mm", "ratio"),
    [((0.99, 3.0), "3.03"), ((3.0, 0.99), "3.03"), ((0.6, 1.2, 2.4), "4.00")],
)
def test_over_three_to_one_is_refused_with_the_ratio(thicknesses_mm, ratio):
    said = rf"a ratio of {ratio}:1; .* at most 3:1 \(scope of ISO 14373:2015\).*vehicle maker"
    with pytest.raises(InputError, match=said):
        stack_of(*thicknesses_mm)


def test_no_adhesive_with_a_name_is_refused():
    with pytest.raises(InputError, match=r"names the adhesive 'Demo epoxy A' but says 'no adh"):
        Bond("Demo epoxy A")


@pytest.mark.parametrize("name", ["", "  "])
def test_a_state_without_an_adhesive_is_refused(name):
    with pytest.raises(InputError, match="is wet but names no adhesive; choose the adhesive"):
        Bond(name, AdhesiveState.WET)


def test_the_furthest_cured_interface_speaks_for_the_stack():
    sheets = (Sheet(1.0), Sheet(1.0), Sheet(1.0))
    assert Stack(sheets).adhesive_state is AdhesiveState.NONE
    assert Stack(sheets, (UNBONDED, WET)).adhesive_state is AdhesiveState.WET
    assert Stack(sheets, (CURED, WET)).adhesive_state is AdhesiveState.CURED
    part = Bond("Demo epoxy A", AdhesiveState.PART_CURED)
    assert Stack(sheets, (WET, part)).adhesive_state is AdhesiveState.PART_CURED


def test_the_faces_that_meet_are_those_of_the_interface():
    top = Sheet(0.8, upper=Surface.ELECTRO_ZINC, lower=Surface.GROUND_BARE)
    bottom = Sheet(1.5, upper=Surface.HOT_DIP_ZINC)
    (interface,) = Stack((top, bottom)).interfaces
    assert interface.surfaces == (Surface.GROUND_BARE, Surface.HOT_DIP_ZINC)
    assert interface.thinner_mm == 0.8


@given(stacks())
def test_turned_over_is_the_same_stack(stack):
    over = stack.turned_over()
    assert over.turned_over() == stack
    assert stack.same_as(over)
    assert over.canonical() == stack.canonical()
    assert stack.is_canonical or over.is_canonical
    assert [i.thinner_mm for i in over.interfaces] == [
        i.thinner_mm for i in reversed(stack.interfaces)
    ]
    assert [i.surfaces for i in over.interfaces] == [
        i.surfaces[::-1] for i in reversed(stack.interfaces)
    ]


@given(stacks(), stacks())
def test_only_the_same_sheets_and_bonds_are_the_same_stack(one, other):
    same = other in (one, one.turned_over())
    assert one.same_as(other) is same


def test_a_moved_face_makes_another_stack():
    zinc_in = Stack((Sheet(1.0, lower=Surface.HOT_DIP_ZINC), Sheet(1.0)))
    zinc_out = Stack((Sheet(1.0, upper=Surface.HOT_DIP_ZINC), Sheet(1.0)))
    assert not zinc_in.same_as(zinc_out)


def test_title_names_thickness_family_surface_and_adhesive():
    zinc = Sheet(0.8, SteelFamily.DUAL_PHASE, Surface.HOT_DIP_ZINC, Surface.GROUND_BARE)
    title = Stack((zinc, Sheet(1.25, SteelFamily.DUAL_PHASE)), (WET,)).title()
    assert title == (
        "0.8 + 1.25 mm · dual-phase · hot-dip zinc–ground bare / bare · Demo epoxy A, wet"
    )


@given(stacks())
def test_families_and_surfaces_are_those_of_the_sheets(stack):
    assert stack.families == {sheet.family for sheet in stack.sheets}
    outer = {stack.sheets[0].upper, stack.sheets[-1].lower}
    met = {face for interface in stack.interfaces for face in interface.surfaces}
    assert stack.surfaces == outer | met
    assert stack.is_bonded is any(bond.state is not AdhesiveState.NONE for bond in stack.bonds)
