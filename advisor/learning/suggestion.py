"""The next setting to weld a coupon with, how sure it is, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass, field

from advisor.learning import wording
from advisor.learning.bench import Bench
from advisor.weld.setting import Setting


@dataclass(frozen=True)
class Suggestion:
    """A setting to weld the next coupon with. It is for a coupon only, never for the vehicle.

    It may be kept for everybody: what it says, it says in the language of whoever asks.

    Parameters
    ----------
    setting : Setting
        Inside the machine's limits and on its dials.
    size_mm, low_mm, high_mm : float
        Predicted size of a weld without expulsion at the weakest interface: median and 90 %
        interval of one new coupon. [mm]
    minimum_mm : float
        The shop's minimum there. [mm]
    chance : float
        Chance of reaching it, 0 to 1.
    chance_expulsion : float
        Chance of throwing metal out, 0 to 1.
    chance_sound : float
        Chance of a sound weld by the shop's rules, 0 to 1.
    window_low_kA, window_high_kA : float or None
        Currents in reach, at this time and force, between which the chance of a sound weld is at
        least 90 %; None where it is nowhere. [kA]
    bench : Bench
        What is known about the stack on the machine; the sentences are worked out from it.
    """

    setting: Setting
    size_mm: float
    low_mm: float
    high_mm: float
    minimum_mm: float
    chance: float
    chance_expulsion: float
    chance_sound: float
    window_low_kA: float | None
    window_high_kA: float | None
    bench: Bench = field(repr=False, compare=False)

    @property
    def basis(self) -> str:
        """The table alone, or how many coupons, and which table."""
        return wording.basis(self.bench.model, self.bench.asked)

    @property
    def explanation(self) -> str:
        """How far the current is from the table's, and why."""
        bench = self.bench
        return wording.explanation(bench.model, bench.asked, bench.choice, bench.untaught)

    @property
    def distance(self) -> str:
        """How far the setting is from anything tested."""
        return wording.distance(self.bench.asked, self.setting)

    @property
    def notes(self) -> tuple[str, ...]:
        """Reservations, one sentence each."""
        return wording.notes(self.bench.model, self.bench.asked, self.bench.choice)


def suggest(bench: Bench) -> Suggestion:
    """Suggest the setting of a coupon.

    Parameters
    ----------
    bench : Bench
        What is known about the stack on the machine.

    Returns
    -------
    Suggestion
        Weld time and force of the table, or of the coupons that passed on this machine far from it;
        and the current with the highest chance of a sound weld, averaged over a set-point error of
        ±3 %. Where several are as good, the one nearest the table, or nearest what passed.
    """
    choice = bench.choice
    low, high = choice.window_kA or (None, None)
    return Suggestion(
        setting=bench.best,
        size_mm=choice.size_mm,
        low_mm=choice.low_mm,
        high_mm=choice.high_mm,
        minimum_mm=choice.minimum_mm,
        chance=choice.chance,
        chance_expulsion=choice.chance_expulsion,
        chance_sound=choice.chance_sound,
        window_low_kA=low,
        window_high_kA=high,
        bench=bench,
    )
