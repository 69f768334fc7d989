"""A flange with the sites of its original welds, and what new welds on it need."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.weld.layout_search import Line, free_intervals
from advisor.weld.published import low_carbon_table, spacing_mm
from advisor.weld.sheet import SteelFamily
from advisor.weld.stack import Stack

#: Between an old site and a new weld. Common practice, no source. [mm]
USUAL_CLEARANCE_MM = 1.0
#: Most original welds of one flange. Choice of this project: more than a flange has, few enough to
#: be searched at once.
MOST_WELDS = 200
_COMMON = msg("common practice, no source")
_OVERLAP = msg("half the smallest overlap of the low-carbon inch table, from memory")
_OVERLAP_OF_ANOTHER_STEEL = msg(
    "half the smallest overlap of the low-carbon inch table, from memory; for other steels common "
    "practice, no source"
)
_HALF_THE_FACE = msg("half the electrode face: its mark lies inside the edges")


def _check(what: str, value: float, low: float, high: float, remedy: str) -> None:
    """Refuse a length; `what` and `remedy` are messages."""
    if not low <= value <= high:
        raise InputError(
            say(
                "{what} is {value:g} mm; it must be {low:g} to {high:g} mm: {remedy}",
                what=say(what),
                value=value,
                low=low,
                high=high,
                remedy=say(remedy, usual=USUAL_CLEARANCE_MM),
            )
        )


@dataclass(frozen=True)
class OldSite:
    """Where an original weld is or was.

    Parameters
    ----------
    place_mm : float
        Centre, along the flange from the end that is measured from. [mm]
    size_mm : float
        Diameter of the weld, or of what was drilled or ground out, 1 to 40. [mm]
    """

    place_mm: float
    size_mm: float

    def __post_init__(self) -> None:
        what, remedy = msg("size of an old site"), msg("measure the mark or the hole")
        _check(what, self.size_mm, 1, 40, remedy)


def evenly(number: int, first_mm: float, pitch_mm: float, size_mm: float) -> tuple[OldSite, ...]:
    """Return a row of equal sites.

    Parameters
    ----------
    number : int
        How many, 1 to 200.
    first_mm, pitch_mm : float
        Place of the first, and distance from each to the next, centre to centre. [mm]
    size_mm : float
        Diameter of each site. [mm]
    """
    if not 1 <= number <= MOST_WELDS:
        raise InputError(
            say(
                "number of original welds is {number}; it must be 1 to {most}",
                number=number,
                most=MOST_WELDS,
            )
        )
    if number > 1:
        what, remedy = msg("pitch of the original welds"), msg("measure it from centre to centre")
        _check(what, pitch_mm, 5, 500, remedy)
    return tuple(OldSite(first_mm + n * pitch_mm, size_mm) for n in range(number))


@dataclass(frozen=True)
class Flange:
    """A straight flange with one row of original welds.

    Parameters
    ----------
    length_mm, width_mm : float
        Along the row, and across it. [mm]
    row_mm : float
        Distance of the row's line from one edge. [mm]
    sites : tuple of OldSite
        The original welds; kept in rising order.
    """

    length_mm: float
    width_mm: float
    row_mm: float
    sites: tuple[OldSite, ...]

    def __post_init__(self) -> None:
        along, across = msg("measure it along the row"), msg("measure it across the row")
        _check(msg("length of the flange"), self.length_mm, 5, 10_000, along)
        _check(msg("width of the flange"), self.width_mm, 2, 500, across)
        self._check_row()
        ordered = tuple(sorted(self.sites, key=lambda site: site.place_mm))
        object.__setattr__(self, "sites", ordered)
        self._check_places()

    def _check_row(self) -> None:
        if not 0 < self.row_mm < self.width_mm:
            raise InputError(
                say(
                    "the row is {row:g} mm from the edge of a flange {width:g} mm wide; it must "
                    "lie between 0 and the width: measure from the edge to the middle of the old "
                    "welds",
                    row=self.row_mm,
                    width=self.width_mm,
                )
            )
        if not 1 <= len(self.sites) <= MOST_WELDS:
            raise InputError(
                say(
                    "{given} original welds are given; it must be 1 to {most}",
                    given=len(self.sites),
                    most=MOST_WELDS,
                )
            )

    def _check_places(self) -> None:
        for number, site in enumerate(self.sites, 1):
            if not 0 <= site.place_mm <= self.length_mm:
                raise InputError(
                    say(
                        "original weld {weld} is at {place:g} mm; the flange goes from 0 to "
                        "{length:g} mm: correct the place or the length",
                        weld=number,
                        place=site.place_mm,
                        length=self.length_mm,
                    )
                )
        for number, (one, other) in enumerate(pairwise(self.sites), 1):
            if other.place_mm - one.place_mm < 1:
                raise InputError(
                    say(
                        "original welds {weld} and {next} are at {place:g} and {place_of_next:g} "
                        "mm; two welds are at least 1 mm apart: give one of them",
                        weld=number,
                        next=number + 1,
                        place=one.place_mm,
                        place_of_next=other.place_mm,
                    )
                )

    @property
    def pitches_mm(self) -> tuple[float, ...]:
        """Distance of each original weld to the next. [mm]."""
        return tuple(b.place_mm - a.place_mm for a, b in pairwise(self.sites))

    def from_row_mm(self, line_mm: float) -> float:
        """Return how far a line is from the old row. [mm].

        Parameters
        ----------
        line_mm : float
            Distance of the line from the row's edge. [mm]
        """
        return abs(line_mm - self.row_mm)


@dataclass(frozen=True)
class Needs:
    """What the new welds need.

    Parameters
    ----------
    weld_mm : float
        Diameter that a new weld takes: the electrode face, 3 to 16. [mm]
    clearance_mm : float
        Between an old site and a new weld, 0 to 20. [mm]
    edge_mm : float
        Smallest distance from the centre of a weld to any edge of the flange. [mm]
    spacing_mm : float
        Smallest pitch without shunt compensation. [mm]
    edge_basis : str
        Where the edge distance comes from, as a message for `say`.
    """

    weld_mm: float
    clearance_mm: float
    edge_mm: float
    spacing_mm: float
    edge_basis: str = _COMMON

    def __post_init__(self) -> None:
        usual_caps = msg("usual caps are dressed to 4–9 mm")
        usual = msg("{usual:g} mm is usual (common practice, no source)")
        _check(msg("electrode face"), self.weld_mm, 3, 16, usual_caps)
        _check(msg("clearance to an old site"), self.clearance_mm, 0, 20, usual)

    def from_site_mm(self, site: OldSite) -> float:
        """Return the smallest distance of a new centre from the centre of a site. [mm]."""
        return site.size_mm / 2 + self.weld_mm / 2 + self.clearance_mm

    def apart_mm(self, original_pitch_mm: float) -> float:
        """Return the smallest new pitch where the original one was so.

        The published spacing, or the original pitch where that is below it, but never so small
        that the new welds touch.

        Parameters
        ----------
        original_pitch_mm : float
            Distance of the two original welds. [mm]
        """
        return max(min(self.spacing_mm, original_pitch_mm), self.weld_mm)


def needs_for(stack: Stack, weld_mm: float, clearance_mm: float = USUAL_CLEARANCE_MM) -> Needs:
    """Return what new welds in a stack need.

    Parameters
    ----------
    stack : Stack
        The stack. Spacing and edge distance are read at its thinnest outside sheet.
    weld_mm : float
        Electrode face diameter. [mm]
    clearance_mm : float
        Between an old site and a new weld. [mm]

    Notes
    -----
    Edge distance: half the smallest overlap of the low-carbon inch table (from memory), and never
    less than half the electrode face, since a mark not wholly inside the edges is an edge weld
    (AWS D8.1M:2013, cl. 3). For other steels the same figure is common practice without a source.
    """
    table = low_carbon_table()
    outside = min(stack.thicknesses_mm[0], stack.thicknesses_mm[-1])
    edge = float(np.interp(outside, table["thickness_mm"], table["overlap_mm"])) / 2
    basis = _OVERLAP
    if stack.families != {SteelFamily.LOW_CARBON}:
        basis = _OVERLAP_OF_ANOTHER_STEEL
    if weld_mm / 2 > edge:
        edge, basis = weld_mm / 2, _HALF_THE_FACE
    return Needs(weld_mm, clearance_mm, edge, spacing_mm(stack), basis)


def line_at(flange: Flange, needs: Needs, row_mm: float) -> Line:
    """Return the line at a distance from the edge, with what the sites leave free on it.

    Parameters
    ----------
    flange : Flange
        The flange.
    needs : Needs
        What the new welds need.
    row_mm : float
        Distance of the line from the edge that the old row was measured from. [mm]
    """
    return Line(
        np.array([site.place_mm for site in flange.sites]),
        free_intervals(
            needs.edge_mm, flange.length_mm - needs.edge_mm, _taken(flange, needs, row_mm)
        ),
        np.array([needs.apart_mm(pitch) for pitch in flange.pitches_mm]),
    )


def half_taken_mm(flange: Flange, needs: Needs, site: OldSite, row_mm: float) -> float:
    """Return half of what a site takes of the line `row_mm` [mm] from the edge. [mm]."""
    away, across = needs.from_site_mm(site), row_mm - flange.row_mm
    return float(np.sqrt(max(away**2 - across**2, 0.0)))


def _taken(flange: Flange, needs: Needs, row_mm: float) -> Iterable[tuple[float, float]]:
    for site in flange.sites:
        half = half_taken_mm(flange, needs, site, row_mm)
        if half > 0:
            yield site.place_mm - half, site.place_mm + half
