"""Which coupon to weld next, and when to stop.

Stop once the newest coupons of the stack, as many as the shop asks for, passed one after the other
at one setting and the chance of a sound weld there is at least 95 %. Until then a setting that has
just passed and is about as good as any is welded again, for only a run proves it. Without such a
run, the coupon is the one that teaches most about the window among the settings about as good as
the best. To weld off the standing run, or further from the best, for the sake of learning was tried
in the virtual shop: it cost coupons.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.language import say, say_number
from advisor.learning.bench import Bench
from advisor.learning.choice import ENOUGH
from advisor.learning.reach import Question
from advisor.weld.setting import Setting

#: How much less likely to be sound than the best a setting may be and still be about as good.
#: Choice of this project: less than the chances are known to.
ABOUT = 0.02
#: Coupons of one stack after which something else than the setting is the likely trouble. Choice of
#: this project.
MANY = 10


@dataclass(frozen=True)
class NextCoupon:
    """What to weld next, or that it is enough.

    Parameters
    ----------
    setting : Setting
        Setting of the next coupon; with `stop`, the setting that is proven.
    stop : bool
        Whether enough coupons are welded.
    passes, wanted : int
        How many of the newest coupons passed in a row at `setting`, and how many it takes.
    chance_sound : float
        Chance of a sound weld at `setting`, 0 to 1.
    doubt_kA : float
        Doubt about the window now, as `Doubt` counts it. [kA]
    doubt_after_kA : float or None
        Doubt to expect after this coupon; None where it was not chosen for what it teaches. [kA]
    asked : Question
        What a setting is wanted for; the reason is worked out from it.
    """

    setting: Setting
    stop: bool
    passes: int
    wanted: int
    chance_sound: float
    doubt_kA: float
    doubt_after_kA: float | None
    asked: Question = field(repr=False, compare=False)

    @property
    def reason(self) -> str:
        """Why, in one or two sentences, in the language of whoever asks."""
        if self.stop:
            return _stop(self.passes, self.setting, self.chance_sound)
        teaches = self.doubt_after_kA is not None
        return _go_on(self.asked, self.passes, self.chance_sound, teaches=teaches)


def choose_coupon(bench: Bench) -> NextCoupon:
    """Choose the next coupon to weld, or say that it is enough.

    Parameters
    ----------
    bench : Bench
        What is known about the stack on the machine.

    Returns
    -------
    NextCoupon
        Inside the machine's limits and within reach.
    """
    asked = bench.asked
    run = _kept(bench, passing_run(asked))
    setting, left = (run[-1].coupon.setting, None) if run else _most_taught(bench)
    passes, wanted = len(run), asked.rules.coverage.passes_in_a_row
    chance = bench.sound(setting)
    return NextCoupon(
        setting=setting,
        stop=passes >= wanted and chance >= ENOUGH,
        passes=passes,
        wanted=wanted,
        chance_sound=chance,
        doubt_kA=bench.doubt.now_kA(),
        doubt_after_kA=left,
        asked=asked,
    )


def passing_run(asked: Question) -> tuple[LoggedCoupon, ...]:
    """Return the newest coupons of the stack that passed in a row at one setting, oldest first.

    Caps of another shape or face end the run, as they end the coverage of a joint.
    """
    run: list[LoggedCoupon] = []
    for logged in reversed([c for c in asked.kin if c.coupon.stack.same_as(asked.stack)]):
        same = logged.coupon.electrode == asked.electrode and logged.coupon.setting.same_as(
            (run or [logged])[0].coupon.setting
        )
        if not same or logged.verdict.outcome is not Outcome.PASS:
            break
        run.append(logged)
    return tuple(reversed(run))


def _kept(bench: Bench, run: tuple[LoggedCoupon, ...]) -> tuple[LoggedCoupon, ...]:
    """Return the run if its setting is worth another coupon, else none."""
    if not run:
        return ()
    setting = run[-1].coupon.setting
    if not any(each.holds(setting) for each in bench.reaches) or bench.asked.machine.problems(
        setting
    ):
        return ()
    enough = min(ENOUGH, bench.choice.chance_sound - ABOUT)
    return run if bench.sound(setting) >= enough else ()


def _most_taught(bench: Bench) -> tuple[Setting, float | None]:
    """Return the setting, about as good as the best, whose coupon leaves the least doubt.

    The first coupon of a kind of stack is welded at the best setting: what the table says of the
    window is not worth leaving it for. Where size hardly follows current, beside it is no better.
    """
    best = bench.best
    if not bench.asked.kin or bench.choice.is_flat:
        return best, None
    ends = bench.within(ABOUT)[[0, -1], 0].tolist()
    candidates = dict.fromkeys([best, *(replace(best, current_kA=current) for current in ends)])
    left = {each: bench.doubt.after_kA(each) for each in candidates}
    return min(left.items(), key=lambda item: item[1])


def _stop(passes: int, setting: Setting, chance: float) -> str:
    return say_number(
        "Stop: {number} pass at {current:g} kA, and the chance of a sound weld is {chance} %, at "
        "least {enough:.0f} %.",
        "Stop: {number} passes in a row at {current:g} kA, and the chance of a sound weld is "
        "{chance} %, at least {enough:.0f} %.",
        passes,
        current=setting.current_kA,
        chance=math.floor(100 * chance),
        enough=100 * ENOUGH,
    )


def _go_on(asked: Question, passes: int, chance: float, *, teaches: bool) -> str:
    wanted = asked.rules.coverage.passes_in_a_row
    if passes >= wanted:
        text = _not_yet(passes, chance)
    elif passes:
        return say_number(
            "It passed: weld the same again, for it takes {number} pass.",
            "It passed: weld the same again, for it takes {number} passes in a row.",
            wanted,
        )
    else:
        text = _no_run(asked, wanted, teaches=teaches)
    return " ".join([text, *_many(asked)])


def _not_yet(passes: int, chance: float) -> str:
    return say_number(
        "{number} pass, but the chance of a sound weld is {chance} %, not yet {enough:.0f} %: weld "
        "the same again.",
        "{number} passes in a row, but the chance of a sound weld is {chance} %, not yet "
        "{enough:.0f} %: weld the same again.",
        passes,
        chance=math.floor(100 * chance),
        enough=100 * ENOUGH,
    )


def _no_run(asked: Question, wanted: int, *, teaches: bool) -> str:
    if teaches:
        return say_number(
            "Teaches most among the settings about as good as the best; it takes {number} pass.",
            "Teaches most among the settings about as good as the best; it takes {number} passes "
            "in a row.",
            wanted,
        )
    if asked.kin:
        return say_number(
            "The best setting that may be tried; it takes {number} pass.",
            "The best setting that may be tried; it takes {number} passes in a row.",
            wanted,
        )
    return say_number(
        "Nothing of this kind tested yet: begin here; it takes {number} pass.",
        "Nothing of this kind tested yet: begin here; it takes {number} passes in a row.",
        wanted,
    )


def _many(asked: Question) -> Iterator[str]:
    count = sum(c.coupon.stack.same_as(asked.stack) for c in asked.kin)
    if count >= MANY:
        yield say(
            "{count} coupons have not settled it: look at caps, force, cables and fit-up before "
            "welding more.",
            count=count,
        )
