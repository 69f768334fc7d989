"""A layout in words: why it is this one, and what a person must know before using it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from advisor.weld.layout import Layout

#: Writes a length given in mm with its unit, as the person reads it.
Show = Callable[[float], str]
#: Less than anybody sees on a flange. [mm]
_SAME_MM = 0.05
CHOSEN_BY = (
    "Chosen: the least largest shift; then the least sum of squared shifts; then the original "
    "pitch; then the middle of the flange. The row keeps its distance from the edge where it can."
)


def in_mm(length_mm: float) -> str:
    """Write a length [mm] to 0.1 mm."""
    return f"{length_mm:.1f} mm"


def why(layout: Layout, show: Show = in_mm) -> str:
    """Return in one sentence why the layout is this one."""
    largest = show(layout.largest_shift_mm)
    if layout.moves_alike:
        if layout.largest_shift_mm < _SAME_MM:
            return "Each new weld stands straight across from its original: the pitch stays."
        towards = "higher" if layout.welds[0].shift_mm > 0 else "lower"
        who = "The whole row moves" if len(layout.welds) > 1 else "The weld moves"
        pitch = " and keeps its pitch" if len(layout.welds) > 1 else ""
        return (
            f"{who} {largest} towards {towards} positions{pitch}; no layout on this line has a "
            "smaller largest shift."
        )
    return f"Each weld moves on its own, {largest} at most: {_not_alike(layout, show)}."


def _not_alike(layout: Layout, show: Show) -> str:
    alike = layout.alike_mm
    if alike is None:
        return "no single shift brings the whole row clear of every old site and edge"
    if abs(alike) > layout.largest_shift_mm + _SAME_MM:
        return f"the whole row moved alike would have to go {show(abs(alike))}"
    return "the whole row moved alike would take some welds further than they need"


def remarks(layout: Layout, show: Show = in_mm) -> tuple[str, ...]:
    """Return what differs from the original or from the published figures, one sentence each."""
    return tuple(
        sentence
        for sentence in (
            _moved_across(layout, show),
            _near_pitch(layout, show),
            _changed_pitch(layout, show),
            _near_edge(layout, show),
        )
        if sentence
    )


def _moved_across(layout: Layout, show: Show) -> str:
    if abs(layout.across_mm) < _SAME_MM:
        return ""
    old, new = show(layout.flange.row_mm), show(layout.row_mm)
    edge = layout.needs.edge_mm
    nearest = min(layout.flange.row_mm, layout.flange.width_mm - layout.flange.row_mm)
    reason = (
        f"the old row is only {show(nearest)} from an edge and {show(edge)} is needed"
        if nearest < edge
        else "on its own line the old sites leave no room"
    )
    return (
        f"The row moves {show(abs(layout.across_mm))} across, from {old} to {new} from its edge: "
        f"{reason}."
    )


def _near_pitch(layout: Layout, show: Show) -> str:
    needed = layout.needs.spacing_mm
    near = [
        (number, pitch)
        for number, pitch in enumerate(layout.flange.pitches_mm, 1)
        if pitch < needed
    ]
    if not near:
        return ""
    least = min(pitch for _, pitch in near)
    return (
        f"The original pitch is {show(least)}, below {show(needed)}, the smallest without shunt "
        f"compensation (inch table, from memory), {_where([n for n, _ in near])}: the new welds "
        "are no nearer than the originals were. Neighbouring welds take part of the current; weld "
        "the coupon with two welds at that pitch."
    )


def _changed_pitch(layout: Layout, show: Show) -> str:
    pairs = zip(layout.flange.pitches_mm, layout.pitches_mm, strict=True)
    changed = [
        f"{number}–{number + 1}: {show(new)} instead of {show(old)}"
        for number, (old, new) in enumerate(pairs, 1)
        if abs(new - old) >= _SAME_MM
    ]
    return f"The pitch changes, welds {'; '.join(changed)}." if changed else ""


def _near_edge(layout: Layout, show: Show) -> str:
    edge, length = layout.needs.edge_mm, layout.flange.length_mm
    near = [weld.number for weld in layout.welds if not edge <= weld.old_mm <= length - edge]
    if not near:
        return ""
    if len(near) == 1:
        return (
            f"Original weld {near[0]} is nearer to an end of the flange than {show(edge)}; the new "
            "one keeps that distance."
        )
    return (
        f"Original welds {', '.join(map(str, near))} are nearer to an end of the flange than "
        f"{show(edge)}; the new ones keep that distance."
    )


def _where(numbers: Iterable[int]) -> str:
    """Name the pairs that begin with these welds, as runs."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number:
            runs[-1][1] = number + 1
        else:
            runs.append([number, number + 1])
    return "between welds " + ", ".join(f"{first}–{last}" for first, last in runs)


def kept_to(layout: Layout, show: Show = in_mm) -> tuple[str, ...]:
    """Return what the layout was asked for and keeps to, one sentence each."""
    flange, needs = layout.flange, layout.needs
    return (
        f"Flange {show(flange.length_mm)} by {show(flange.width_mm)}; new row "
        f"{show(layout.row_mm)} from the edge; places are measured from one end.",
        f"New welds {show(needs.weld_mm)} wide, {show(needs.clearance_mm)} clear of every old "
        "site (common practice, no source).",
        f"Middle of a weld at least {show(needs.edge_mm)} from every edge ({needs.edge_basis}).",
        f"Smallest pitch without shunt compensation {show(needs.spacing_mm)} (inch table, from "
        "memory; three or more sheets 30 % more), or the original pitch where that is smaller.",
        "As many welds as before, beside the old ones: common practice, no source.",
    )


def in_words(layout: Layout, show: Show = in_mm) -> str:
    """Say what a drawing of the layout shows."""
    flange = layout.flange
    old = ", ".join(show(site.place_mm) for site in flange.sites)
    new = ", ".join(show(weld.new_mm) for weld in layout.welds)
    return (
        f"Scaled drawing of the flange, {show(flange.length_mm)} by {show(flange.width_mm)}. Old "
        f"sites, hollow with a cross: {old}. New welds, filled: {new}; row "
        f"{show(layout.row_mm)} from the edge."
    )
