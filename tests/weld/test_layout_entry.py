"""Typed places of original welds: every way of parting them, and what cannot be read."""

import pytest

from advisor.errors import InputError
from advisor.weld.layout_entry import read_sites
from advisor.weld.layout_flange import OldSite


@pytest.mark.parametrize(
    "text", ["20; 60.5; 100", "20 60.5 100", "20\n60,5\n100\n", " 20, 60.5, 100 ", "20;60,5;100"]
)
def test_places_are_parted_by_spaces_lines_or_semicolons(text):
    assert read_sites(text, "mm", 6) == (OldSite(20, 6), OldSite(60.5, 6), OldSite(100, 6))


def test_a_size_behind_a_slash_is_that_site_s_own():
    assert read_sites("20 60 / 12; 100/8.5", "mm", 6) == (
        OldSite(20, 6),
        OldSite(60, 12),
        OldSite(100, 8.5),
    )


def test_inches_are_inches():
    (site,) = read_sites("2/0.5", "in", 6)
    assert (site.place_mm, site.size_mm) == (pytest.approx(50.8), pytest.approx(12.7))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("20,60,100", r"'20,60,100' can be read in more than one way; part them by spaces"),
        ("20,5", r"'20,5' can be read in more than one way"),
        ("20 sixty", r"the place of an original weld is 'sixty'; it must be a number"),
        ("20/x", r"the size of a site is 'x'; it must be a number"),
        ("20/", r"the size of a site is ''; it must be a number"),
        ("20/90", r"size of an old site is 90 mm; it must be 1 to 40 mm"),
    ],
)
def test_what_cannot_be_read_is_quoted(text, words):
    with pytest.raises(InputError, match=words):
        read_sites(text, "mm", 6)
