"""Adhesives as their labels describe them, and the preparation before a bonded joint."""

import math
from dataclasses import replace

import pytest

from advisor.bonding.adhesive import Adhesive, Span
from advisor.errors import InputError

EPOXY = Adhesive("Demo epoxy A", work=Span(60, 90), clamp=Span(240, 300), cure=Span(1440, 1440))


@pytest.mark.parametrize(
    ("low", "high"), [(0, 60), (-5, 60), (90, 60), (60, 20_161), (math.nan, 60), (60, math.nan)]
)
def test_an_impossible_time_range_is_refused(low, high):
    with pytest.raises(InputError, match=r"min; the first must be above 0 and not above the sec"):
        Span(low, high)


@pytest.mark.parametrize(("low", "high"), [(60, 60), (0.5, 20_160)])
def test_a_range_may_be_one_time_and_up_to_14_days(low, high):
    assert Span(low, high) == Span(low, high)


def test_an_adhesive_has_a_name():
    with pytest.raises(InputError, match="the adhesive has no name; copy it from the cartridge"):
        replace(EPOXY, name="  ")


@pytest.mark.parametrize("degrees", [-1, 61, math.nan])
def test_label_temperature_is_checked(degrees):
    with pytest.raises(InputError, match=r"label temperature is .* °C; it must be 0 to 60 °C"):
        replace(EPOXY, label_degC=degrees)


def test_fahrenheit_typed_as_celsius_is_recognised():
    with pytest.raises(InputError, match=r"temperature is 70 °C; .*\(if that was °F, 70 °F is 21"):
        replace(EPOXY, label_degC=70)


@pytest.mark.parametrize(
    "change",
    [
        {"clamp": Span(45, 300)},
        {"clamp": Span(60, 80)},
        {"cure": Span(200, 1440)},
        {"cure": Span(240, 299)},
        {"work": Span(250, 280)},
        {"work": Span(60, 301)},
    ],
)
def test_times_that_do_not_follow_each_other_are_refused(change):
    with pytest.raises(InputError, match="times of Demo epoxy A do not follow each other: work"):
        replace(EPOXY, **change)


def test_equal_times_follow_each_other():
    same = Span(60, 90)
    assert replace(EPOXY, work=same, clamp=same, cure=same).cure == same


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"bead_mm": 0}, "the bead is 0 mm; it must be above 0 and at most 50 mm"),
        ({"bead_mm": 60}, "the bead is 60 mm"),
        ({"bond_line_mm": 25}, "the bond-line bead is 25 mm; it must be above 0 and at most 5 mm"),
    ],
)
def test_beads_out_of_reason_are_told(change, text):
    with pytest.raises(InputError, match=text):
        replace(EPOXY, **change)
