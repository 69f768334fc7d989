"""Why a flange has no layout: what is short, by how much, and what to do."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NoReturn

from advisor.errors import NoAdviceError
from advisor.language import figure, msg, say
from advisor.weld.layout_flange import Flange, Needs, half_taken_mm, line_at
from advisor.weld.layout_search import TOLERANCE_MM, packed

_REMEDY = msg(
    "Ask the vehicle maker's procedure (other places, or another way of joining); never weld over "
    "an old site or leave a weld out"
)
_FEW_PLACES = msg(
    "only {placed} of {welds} new welds find a place clear of the old sites: {closed}. {remedy}"
)
_FEW_PLACES_WHEREVER = msg(
    "only {placed} of {welds} new welds find a place clear of the old sites, not even with the row "
    "moved {away:.1f} mm across, as far as the edge distance of {edge:.1f} mm lets it: {closed}. "
    "{remedy}"
)
#: Closed stretches that are named one by one. Choice of this project: nobody reads a sentence that
#: names more.
_NAMED = 3


def refuse_for_size(flange: Flange, needs: Needs) -> None:
    """Refuse a flange that is too narrow or too short for the row, old sites or not.

    Parameters
    ----------
    flange : Flange
        The flange.
    needs : Needs
        What the new welds need.

    Raises
    ------
    NoAdviceError
        Too narrow or too short, with the numbers.
    """
    narrow = 2 * needs.edge_mm - flange.width_mm
    if narrow > TOLERANCE_MM:
        raise NoAdviceError(
            say(
                "the flange is {width:.1f} mm wide and {needed:.1f} mm is needed ({edge}): too "
                "narrow by {narrow} mm. {remedy}",
                width=flange.width_mm,
                needed=2 * needs.edge_mm,
                edge=_edge(needs),
                narrow=_up(narrow),
                remedy=say(_REMEDY),
            )
        )
    row = sum(needs.apart_mm(pitch) for pitch in flange.pitches_mm)
    short = row + 2 * needs.edge_mm - flange.length_mm
    if short > TOLERANCE_MM:
        raise NoAdviceError(
            say(
                "the flange is {length:.1f} mm long and the {welds} welds need {needed:.1f} mm "
                "({row:.1f} mm from the first to the last; {edge}): too short by {short} mm. "
                "{remedy}",
                length=flange.length_mm,
                welds=len(flange.sites),
                needed=row + 2 * needs.edge_mm,
                row=row,
                edge=_edge(needs),
                short=_up(short),
                remedy=say(_REMEDY),
            )
        )


def _edge(needs: Needs) -> str:
    return say(
        "{edge:.1f} mm from the middle of a weld to each edge; {basis}",
        edge=needs.edge_mm,
        basis=say(needs.edge_basis),
    )


def _up(value_mm: float) -> str:
    """Write what is short; never as nothing."""
    return figure(value_mm, ".1f") if value_mm >= 0.05 else say("under 0.1")


def refuse_for_sites(flange: Flange, needs: Needs, row_mm: float) -> NoReturn:
    """Refuse a flange whose old sites leave no room.

    Parameters
    ----------
    flange : Flange
        The flange.
    needs : Needs
        What the new welds need.
    row_mm : float
        The line with the most room, from the row's edge. [mm]

    Raises
    ------
    NoAdviceError
        Always: how many welds find a place, and which stretches are closed by how much.
    """
    placed, number = len(packed(line_at(flange, needs, row_mm), float("inf"))), len(flange.sites)
    away = flange.from_row_mm(row_mm)
    message = _FEW_PLACES if away < 0.05 else _FEW_PLACES_WHEREVER
    raise NoAdviceError(
        say(
            message,
            placed=placed,
            welds=number,
            away=away,
            edge=needs.edge_mm,
            closed=_closed(flange, needs, row_mm),
            remedy=say(_REMEDY),
        )
    )


def _closed(flange: Flange, needs: Needs, row_mm: float) -> str:
    """Name the stretches in which no new weld fits."""
    closed = [
        say(
            "{where} {there:.1f} mm, {needed:.1f} needed ({short} short)",
            where=where,
            there=there,
            needed=needed,
            short=_up(needed - there),
        )
        for where, there, needed in _stretches(flange, needs, row_mm)
        if there < needed - TOLERANCE_MM
    ]
    if not closed:
        return say(
            "every stretch between old sites has room for one, but welds in neighbouring "
            "stretches would be nearer to each other than {apart:.1f} mm",
            apart=min(map(needs.apart_mm, flange.pitches_mm), default=needs.weld_mm),
        )
    named = "; ".join(closed[:_NAMED])
    if len(closed) <= _NAMED:
        return say("no place {stretches} (to the middle of the old sites)", stretches=named)
    return say(
        "no place {stretches}; and {more} more such stretches (to the middle of the old sites)",
        stretches=named,
        more=len(closed) - _NAMED,
    )


def _stretches(flange: Flange, needs: Needs, row_mm: float) -> Iterator[tuple[str, float, float]]:
    """Yield each stretch between old sites: its name, its length and what a weld needs, in mm."""
    half = [half_taken_mm(flange, needs, site, row_mm) for site in flange.sites]
    to_first = flange.sites[0].place_mm
    yield say("from the first end to old weld 1"), to_first, needs.edge_mm + half[0]
    pairs = zip(flange.pitches_mm, pairwise(half), strict=True)
    for number, (pitch, (one, other)) in enumerate(pairs, 1):
        between = say("between old welds {weld} and {next}", weld=number, next=number + 1)
        yield between, pitch, one + other
    to_end = flange.length_mm - flange.sites[-1].place_mm
    last = say("from old weld {weld} to the other end", weld=len(half))
    yield last, to_end, needs.edge_mm + half[-1]
