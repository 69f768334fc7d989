"""Families of stacks: a few, each stack in one, whichever way up."""

import pytest
from hypothesis import given
from strategies import stacks

from advisor.weld.family import stack_family
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack


def sheet(thickness_mm, *faces):
    upper, lower = faces * 2 if len(faces) == 1 else faces or (Surface.BARE, Surface.BARE)
    return Sheet(thickness_mm, upper=upper, lower=lower)


@pytest.mark.parametrize(
    ("sheets", "family"),
    [
        ((sheet(0.8), sheet(1.5)), "2 sheets, thinnest under 0.9 mm, bare"),
        ((sheet(0.9), sheet(1.5)), "2 sheets, thinnest 0.9 to 1.4 mm, bare"),
        ((sheet(1.39), sheet(1.5)), "2 sheets, thinnest 0.9 to 1.4 mm, bare"),
        ((sheet(1.4), sheet(1.5)), "2 sheets, thinnest 1.4 mm or more, bare"),
        (
            (sheet(1.5), sheet(0.7, Surface.GROUND_BARE), sheet(1.0, Surface.HOT_DIP_ZINC)),
            "3 sheets, thinnest under 0.9 mm, zinc",
        ),
        (
            (sheet(1.0, Surface.GALVANNEALED), sheet(1.0, Surface.ELECTRO_ZINC, Surface.BARE)),
            "2 sheets, thinnest 0.9 to 1.4 mm, zinc",
        ),
        (
            (sheet(1.0, Surface.HOT_DIP_ZINC), sheet(1.0, Surface.BARE, Surface.WELD_PRIMER)),
            "2 sheets, thinnest 0.9 to 1.4 mm, other surfaces",
        ),
        (
            (sheet(2.0, Surface.ALUMINIUM_SILICON), *[sheet(1.5)] * 3),
            "4 sheets, thinnest 1.4 mm or more, other surfaces",
        ),
    ],
)
def test_families_by_hand(sheets, family):
    assert stack_family(Stack(sheets)) == family


@given(stacks())
def test_a_stack_turned_over_is_of_the_same_family(stack):
    assert stack_family(stack.turned_over()) == stack_family(stack)


@given(stacks(bonded=False))
def test_adhesive_does_not_matter(stack):
    bonds = tuple(Bond("Demo epoxy A", AdhesiveState.WET) for _ in stack.bonds)
    assert stack_family(Stack(stack.sheets, bonds)) == stack_family(stack)


@given(stacks())
def test_there_are_few_families(stack):
    sheets, thinnest, faces = stack_family(stack).split(", ")
    assert sheets in {"2 sheets", "3 sheets", "4 sheets"}
    assert thinnest in {
        "thinnest under 0.9 mm",
        "thinnest 0.9 to 1.4 mm",
        "thinnest 1.4 mm or more",
    }
    assert faces in {"bare", "zinc", "other surfaces"}
