"""A prepared lesson: a question, welds that answer it, and the point.

The answer is never written down: it is read off the calculated welds when it is revealed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.heat.weld import simulate
from advisor.language import say
from advisor.weld.electrode import Electrode
from advisor.weld.setting import Setting
from advisor.weld.size import minimum_size_mm
from advisor.weld.stack import Stack


@dataclass(frozen=True)
class Shown:
    """One weld of a lesson.

    Parameters
    ----------
    name : str
        A letter.
    what : str
        What sets it apart, a message.
    stack : Stack
        What is welded.
    setting : Setting
        What is dialled.
    electrode : Electrode
        Caps on both sides.
    neighbour_pitch_mm : float or None
        Distance to an earlier weld; None for none. [mm]
    """

    name: str
    what: str
    stack: Stack
    setting: Setting
    electrode: Electrode
    neighbour_pitch_mm: float | None = None

    def run(
        self, usual: Options | None = None, progress: Callable[[float], None] | None = None
    ) -> WeldHistory:
        """Calculate it.

        Parameters
        ----------
        usual : Options, optional
            Grid and steps.
        progress : callable, optional
            Is told which share is done.
        """
        options = replace(usual or Options(), neighbour_pitch_mm=self.neighbour_pitch_mm)
        return simulate(self.stack, self.setting, self.electrode, options, progress)

    @property
    def minima_mm(self) -> tuple[float, ...]:
        """4√t at each interface, with the thinner of its sheets. [mm]."""
        return tuple(minimum_size_mm(each.thinner_mm) for each in self.stack.interfaces)


Welds = Sequence[WeldHistory]


@dataclass(frozen=True)
class WordGuess:
    """The class chooses one of a few answers.

    Parameters
    ----------
    options : tuple of str
        The answers, messages.
    right : callable
        Which of them the welds show, from 0 on.
    """

    options: tuple[str, ...]
    right: Callable[[Welds], int]

    def compared(self, welds: Welds, guess: int) -> str:
        """Return how a guess stands against what the welds show."""
        right = self.right(welds)
        shown = say(self.options[right])
        if guess == right:
            return say("The class was right: {answer}.", answer=shown)
        return say(
            "The class said: {guess}. The calculation says: {answer}.",
            guess=say(self.options[guess]),
            answer=shown,
        )


@dataclass(frozen=True)
class SizeGuess:
    """The class guesses the size of one weld.

    Parameters
    ----------
    weld : int
        Which of the lesson's welds, from 0 on.
    interface : int
        At which interface, from the top, from 0 on.
    """

    weld: int
    interface: int = 0

    def answer_mm(self, welds: Welds) -> float:
        """Return the size that was calculated. [mm]."""
        return welds[self.weld].diameters_mm[self.interface]


@dataclass(frozen=True)
class Lesson:
    """One lesson.

    Parameters
    ----------
    key : str
        Its word in the address.
    title, question : str
        Messages.
    guess : WordGuess or SizeGuess
        What the class is asked for.
    welds : tuple of Shown
        One to three.
    point : tuple of str
        What is to be learned, sentence by sentence, messages.
    sources : tuple of str
        Where that is from: ids of ``reference/SOURCES.md``, "heat model", "from memory".
    """

    key: str
    title: str
    question: str
    guess: WordGuess | SizeGuess
    welds: tuple[Shown, ...]
    point: tuple[str, ...]
    sources: tuple[str, ...]
