"""What the tests of weld layouts share: a small flange, and what a layout costs and breaks."""

from itertools import pairwise

import numpy as np

from advisor.weld.layout import Layout
from advisor.weld.layout_flange import Flange, Needs, OldSite

#: Site 6 mm and weld 6 mm with 1 mm between: centres are at least 3 + 3 + 1 = 7 mm apart.
NEEDS = Needs(weld_mm=6, clearance_mm=1, edge_mm=6, spacing_mm=13)
SLACK_MM = 2e-6


def flange(*places, length=100.0, width=12.0, row=6.0, size=6.0):
    return Flange(length, width, row, tuple(OldSite(place, size) for place in places))


def new_places(layout):
    return [weld.new_mm for weld in layout.welds]


def costs(layout: Layout) -> tuple[float, float, float, float]:
    """What is made small, in its order, worked out from the result alone."""
    shifts = np.array([weld.new_mm - weld.old_mm for weld in layout.welds])
    middle = layout.flange.length_mm / 2
    return (
        float(np.abs(shifts).max()),
        float((shifts**2).sum()),
        float((np.diff(shifts) ** 2).sum()),
        float(((np.array(new_places(layout)) - middle) ** 2).sum()),
    )


def broken(layout: Layout) -> list[str]:
    """Every rule that a layout breaks, measured in the plane."""
    there, needs, row, places = layout.flange, layout.needs, layout.row_mm, new_places(layout)
    to_edges = [row, there.width_mm - row, *places, *(there.length_mm - p for p in places)]
    to_sites = [
        np.hypot(p - s.place_mm, row - there.row_mm) - (s.size_mm + needs.weld_mm) / 2
        for p in places
        for s in there.sites
    ]
    pitches = [b.place_mm - a.place_mm for a, b in pairwise(there.sites)]
    least = [max(min(needs.spacing_mm, pitch), needs.weld_mm) for pitch in pitches]
    rules = {
        "number": len(places) == len(there.sites),
        "edge": min(to_edges) >= needs.edge_mm - SLACK_MM,
        "old site": min(to_sites) >= needs.clearance_mm - SLACK_MM,
        "pitch": all(np.diff(places) >= np.array(least) - SLACK_MM),
    }
    return [rule for rule, kept in rules.items() if not kept]
