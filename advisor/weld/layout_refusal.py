"""Why a flange has no layout: what is short, by how much, and what to do."""

from __future__ import annotations

from itertools import pairwise
from typing import NoReturn

from advisor.errors import NoAdviceError
from advisor.weld.layout_flange import Flange, Needs, half_taken_mm, line_at
from advisor.weld.layout_search import TOLERANCE_MM, packed

_REMEDY = (
    "Ask the vehicle maker's procedure (other places, or another way of joining); never weld over "
    "an old site or leave a weld out"
)
#: Closed stretches that are named one by one.
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
    edge = f"{needs.edge_mm:.1f} mm from the middle of a weld to each edge; {needs.edge_basis}"
    narrow = 2 * needs.edge_mm - flange.width_mm
    if narrow > TOLERANCE_MM:
        raise NoAdviceError(
            f"the flange is {flange.width_mm:.1f} mm wide and {2 * needs.edge_mm:.1f} mm is needed "
            f"({edge}): too narrow by {_up(narrow)} mm. {_REMEDY}"
        )
    row = sum(needs.apart_mm(pitch) for pitch in flange.pitches_mm)
    short = row + 2 * needs.edge_mm - flange.length_mm
    if short > TOLERANCE_MM:
        raise NoAdviceError(
            f"the flange is {flange.length_mm:.1f} mm long and the {len(flange.sites)} welds need "
            f"{row + 2 * needs.edge_mm:.1f} mm ({row:.1f} mm from the first to the last; {edge}): "
            f"too short by {_up(short)} mm. {_REMEDY}"
        )


def _up(value_mm: float) -> str:
    """Write what is short; never as nothing."""
    return f"{value_mm:.1f}" if value_mm >= 0.05 else "under 0.1"


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
    moved = (
        f", not even with the row moved {away:.1f} mm across, as far as the edge distance of "
        f"{needs.edge_mm:.1f} mm lets it"
        if away >= 0.05
        else ""
    )
    raise NoAdviceError(
        f"only {placed} of {number} new welds find a place clear of the old sites{moved}: "
        f"{_closed(flange, needs, row_mm)}. {_REMEDY}"
    )


def _closed(flange: Flange, needs: Needs, row_mm: float) -> str:
    """Name the stretches in which no new weld fits."""
    half = [half_taken_mm(flange, needs, site, row_mm) for site in flange.sites]
    last = len(half)
    stretches = [
        ("from the first end to old weld 1", flange.sites[0].place_mm, needs.edge_mm + half[0])
    ]
    for number, (pitch, (one, other)) in enumerate(
        zip(flange.pitches_mm, pairwise(half), strict=True), 1
    ):
        stretches.append((f"between old welds {number} and {number + 1}", pitch, one + other))
    to_end = flange.length_mm - flange.sites[-1].place_mm
    stretches.append((f"from old weld {last} to the other end", to_end, needs.edge_mm + half[-1]))
    closed = [
        f"{where} {there:.1f} mm, {needed:.1f} needed ({_up(needed - there)} short)"
        for where, there, needed in stretches
        if there < needed - TOLERANCE_MM
    ]
    if not closed:
        return (
            "every stretch between old sites has room for one, but welds in neighbouring "
            "stretches would be nearer to each other than "
            f"{min(map(needs.apart_mm, flange.pitches_mm), default=needs.weld_mm):.1f} mm"
        )
    more = f"; and {len(closed) - _NAMED} more such stretches" if len(closed) > _NAMED else ""
    return "no place " + "; ".join(closed[:_NAMED]) + more + " (to the middle of the old sites)"
