"""A layout in words: why it is this one, and what a person must know before using it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from advisor.language import figure, msg, say, say_number
from advisor.weld.layout import Layout

#: Writes a length given in mm with its unit, as the person reads it.
Show = Callable[[float], str]
#: Less than anybody sees on a flange. Choice of this project. [mm]
_SAME_MM = 0.05
CHOSEN_BY = msg(
    "Chosen: the least largest shift; then the least sum of squared shifts; then the original "
    "pitch; then the middle of the flange. The row keeps its distance from the edge where it can."
)
#: By whether there is more than one weld, and whether it moves up.
_ALIKE = {
    (True, True): msg(
        "The whole row moves {shift} towards higher positions and keeps its pitch; no layout on "
        "this line has a smaller largest shift."
    ),
    (True, False): msg(
        "The whole row moves {shift} towards lower positions and keeps its pitch; no layout on "
        "this line has a smaller largest shift."
    ),
    (False, True): msg(
        "The weld moves {shift} towards higher positions; no layout on this line has a smaller "
        "largest shift."
    ),
    (False, False): msg(
        "The weld moves {shift} towards lower positions; no layout on this line has a smaller "
        "largest shift."
    ),
}


def in_mm(length_mm: float) -> str:
    """Write a length [mm] to 0.1 mm."""
    return f"{figure(length_mm, '.1f')} mm"


def why(layout: Layout, show: Show = in_mm) -> str:
    """Return in one sentence why the layout is this one."""
    largest = show(layout.largest_shift_mm)
    if layout.moves_alike:
        if layout.largest_shift_mm < _SAME_MM:
            return say("Each new weld stands straight across from its original: the pitch stays.")
        is_row, is_up = len(layout.welds) > 1, layout.welds[0].shift_mm > 0
        return say(_ALIKE[is_row, is_up], shift=largest)
    return say(
        "Each weld moves on its own, {shift} at most: {reason}.",
        shift=largest,
        reason=_not_alike(layout, show),
    )


def _not_alike(layout: Layout, show: Show) -> str:
    alike = layout.alike_mm
    if alike is None:
        return say("no single shift brings the whole row clear of every old site and edge")
    if abs(alike) > layout.largest_shift_mm + _SAME_MM:
        return say("the whole row moved alike would have to go {shift}", shift=show(abs(alike)))
    return say("the whole row moved alike would take some welds further than they need")


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
    return say(
        "The row moves {shift} across, from {old} to {new} from its edge: {reason}.",
        shift=show(abs(layout.across_mm)),
        old=show(layout.flange.row_mm),
        new=show(layout.row_mm),
        reason=_why_across(layout, show),
    )


def _why_across(layout: Layout, show: Show) -> str:
    edge = layout.needs.edge_mm
    nearest = min(layout.flange.row_mm, layout.flange.width_mm - layout.flange.row_mm)
    if nearest >= edge:
        return say("on its own line the old sites leave no room")
    return say(
        "the old row is only {nearest} from an edge and {edge} is needed",
        nearest=show(nearest),
        edge=show(edge),
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
    return say(
        "The original pitch is {pitch}, below {needed}, the smallest without shunt compensation "
        "(inch table, from memory), between welds {pairs}: the new welds are no nearer than the "
        "originals were. Neighbouring welds take part of the current; weld the coupon with two "
        "welds at that pitch.",
        pitch=show(least),
        needed=show(needed),
        pairs=_runs([n for n, _ in near]),
    )


def _changed_pitch(layout: Layout, show: Show) -> str:
    pairs = zip(layout.flange.pitches_mm, layout.pitches_mm, strict=True)
    changed = [
        say(
            "{weld}–{next}: {new} instead of {old}",
            weld=number,
            next=number + 1,
            new=show(new),
            old=show(old),
        )
        for number, (old, new) in enumerate(pairs, 1)
        if abs(new - old) >= _SAME_MM
    ]
    if not changed:
        return ""
    return say("The pitch changes, welds {changes}.", changes="; ".join(changed))


def _near_edge(layout: Layout, show: Show) -> str:
    edge, length = layout.needs.edge_mm, layout.flange.length_mm
    near = [weld.number for weld in layout.welds if not edge <= weld.old_mm <= length - edge]
    if not near:
        return ""
    return say_number(
        "Original weld {welds} is nearer to an end of the flange than {edge}; the new one keeps "
        "that distance.",
        "Original welds {welds} are nearer to an end of the flange than {edge}; the new ones keep "
        "that distance.",
        len(near),
        welds=", ".join(map(str, near)),
        edge=show(edge),
    )


def _runs(numbers: Iterable[int]) -> str:
    """Name the pairs that begin with these welds, as runs."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number:
            runs[-1][1] = number + 1
        else:
            runs.append([number, number + 1])
    return ", ".join(f"{first}–{last}" for first, last in runs)


def kept_to(layout: Layout, show: Show = in_mm) -> tuple[str, ...]:
    """Return what the layout was asked for and keeps to, one sentence each."""
    flange, needs = layout.flange, layout.needs
    return (
        say(
            "Flange {length} by {width}; new row {row} from the edge; places are measured from one "
            "end.",
            length=show(flange.length_mm),
            width=show(flange.width_mm),
            row=show(layout.row_mm),
        ),
        say(
            "New welds {weld} wide, {clearance} clear of every old site (common practice, no "
            "source).",
            weld=show(needs.weld_mm),
            clearance=show(needs.clearance_mm),
        ),
        say(
            "Middle of a weld at least {edge} from every edge ({basis}).",
            edge=show(needs.edge_mm),
            basis=say(needs.edge_basis),
        ),
        say(
            "Smallest pitch without shunt compensation {spacing} (inch table, from memory; three "
            "or more sheets 30 % more), or the original pitch where that is smaller.",
            spacing=show(needs.spacing_mm),
        ),
        say("As many welds as before, beside the old ones: common practice, no source."),
    )


def in_words(layout: Layout, show: Show = in_mm) -> str:
    """Say what a drawing of the layout shows."""
    flange = layout.flange
    return say(
        "Scaled drawing of the flange, {length} by {width}. Old sites, hollow with a cross: {old}. "
        "New welds, filled: {new}; row {row} from the edge.",
        length=show(flange.length_mm),
        width=show(flange.width_mm),
        old=", ".join(show(site.place_mm) for site in flange.sites),
        new=", ".join(show(weld.new_mm) for weld in layout.welds),
        row=show(layout.row_mm),
    )
