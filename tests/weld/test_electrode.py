"""Electrode caps."""

import math

import pytest

from advisor.errors import InputError
from advisor.weld.electrode import CapShape, Electrode


@pytest.mark.parametrize("face_mm", [3.0, 6.0, 16.0])
def test_usual_faces_are_accepted(face_mm):
    assert Electrode(CapShape.DOME, face_mm).face_mm == face_mm


@pytest.mark.parametrize("face_mm", [-6.0, 0.0, 0.25, 2.9, 16.1, math.nan])
def test_other_faces_are_refused_with_the_range(face_mm):
    with pytest.raises(InputError, match=r"electrode face is .* mm; it must be 3 to 16 mm"):
        Electrode(CapShape.DOME, face_mm)


def test_title_leaves_no_blank_for_an_unknown_material():
    assert Electrode(CapShape.CONE, 6.0).title() == "truncated cone 6 mm CuCrZr"
    assert Electrode(CapShape.FLAT, 5.5, "").title() == "flat 5.5 mm"
