"""What can be practised on a virtual machine. Machines and adhesive are invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from advisor.coupons.rules import JudgingRules
from advisor.errors import InputError
from advisor.language import msg, say
from advisor.learning.bench_machine import MOST_SEED, BenchMachine
from advisor.learning.invented_machine import SCENARIOS, Scenario
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

#: Adhesive of the bonded exercise.
ADHESIVE = "Invented epoxy"
#: A machine is worth searching where its published start is sound less often than this; how many
#: are looked at for one, and how often the first is taken as it comes. Choice of this project: an
#: exercise in which nothing has to be searched teaches nothing.
_WORTH, _TRIES, _AS_IT_COMES = 0.75, 200, 0.25


@dataclass(frozen=True)
class Exercise:
    """Something to practise.

    Parameters
    ----------
    name : str
        What it is called, as a message for `say`.
    story : str
        What is special about it, in a sentence; likewise.
    stack : Stack
        What is welded.
    kinds : tuple of Scenario
        Kinds of machine; the machine's number picks one.
    """

    name: str
    story: str
    stack: Stack
    kinds: tuple[Scenario, ...]


def _sheets(*thicknesses_mm: float, surface: Surface) -> tuple[Sheet, ...]:
    return tuple(Sheet(t, upper=surface, lower=surface) for t in thicknesses_mm)


_KIND = {scenario.name: scenario for scenario in SCENARIOS}
_GROUND = Surface.GROUND_BARE
#: Exercises by a word that stays the same in every version, easiest first. Invented.
EXERCISES: dict[str, Exercise] = {
    "bare": Exercise(
        msg("Two bare sheets"),
        msg("The machine does about what the handbooks say. Find a setting that passes again."),
        Stack(_sheets(1.0, 1.0, surface=_GROUND)),
        (_KIND["by the handbook"],),
    ),
    "zinc": Exercise(
        msg("Zinc on every face"),
        msg(
            "Zinc wants more current, and here it wears the caps: what passes today may not "
            "tomorrow."
        ),
        Stack(_sheets(1.2, 1.2, surface=Surface.HOT_DIP_ZINC)),
        (_KIND["worn caps"],),
    ),
    "unequal": Exercise(
        msg("One thin sheet on a thick one"),
        msg("The thin sheet sets the size that is asked for; this machine is slow to fuse."),
        Stack(_sheets(0.8, 1.6, surface=_GROUND)),
        (_KIND["late and slow"],),
    ),
    "wet": Exercise(
        msg("Through wet adhesive"),
        msg("No published figure says how far paste moves the setting, and the window is narrow."),
        Stack(
            _sheets(1.2, 1.2, surface=_GROUND),
            (Bond(ADHESIVE, AdhesiveState.WET),),
        ),
        (_KIND["narrow window"],),
    ),
    "three": Exercise(
        msg("Three sheets"),
        msg("Two interfaces have to be sound in one weld, and the welds scatter widely."),
        Stack(_sheets(0.8, 1.2, 1.0, surface=_GROUND)),
        (_KIND["large scatter"],),
    ),
    "reads-wrong": Exercise(
        msg("A machine that reads wrong"),
        msg("What flows is not what the dial says; which way it is off, only coupons tell."),
        Stack(_sheets(1.5, 1.5, surface=Surface.BARE)),
        (_KIND["dial reads 12 % high"], _KIND["dial reads 10 % low"]),
    ),
}


def machine_for(exercise: str, seed: int) -> BenchMachine:
    """Return the machine of an exercise.

    Parameters
    ----------
    exercise : str
        A key of `EXERCISES`.
    seed : int
        Number of the machine.

    Raises
    ------
    InputError
        There is no such exercise, or no such number.
    """
    if exercise not in EXERCISES:
        raise InputError(
            say(
                "there is no exercise {exercise!r}; there are: {known}",
                exercise=exercise,
                known=", ".join(EXERCISES),
            )
        )
    found = EXERCISES[exercise]
    return BenchMachine(seed, found.kinds[seed % len(found.kinds)], found.stack)


def fresh_number(exercise: str, draw: np.random.Generator) -> int:
    """Return the number of a machine that is worth searching.

    Three times in four the published start is not sound on it, or there would be little to find.

    Parameters
    ----------
    exercise : str
        A key of `EXERCISES`.
    draw : Generator
        Source of the number.
    """
    any_will_do, judging = draw.random() < _AS_IT_COMES, JudgingRules()
    for _ in range(_TRIES):
        seed = int(draw.integers(MOST_SEED + 1))
        found = machine_for(exercise, seed)
        start = found.start
        at = Setting(start.current_kA, start.weld_ms, start.force_kN)
        if any_will_do or found.true_chance(at, judging) < _WORTH:
            break
    return seed
