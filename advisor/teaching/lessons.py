"""The prepared lessons. Settings are the published starts of uncoated steel at medium force.

That is where the heat model was fitted, and where it stays farthest below boiling.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.teaching.lesson import Lesson, Shown, SizeGuess, Welds, WordGuess
from advisor.teaching.words import BARE
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import Stack

MODEL, MEMORY = "heat model", "from memory"
_B1, _STEELS = "iso14373-2015-b1", "steels-metallurgy-3rd"
#: A worn face, a weak force and a thin current, over the start.
_WORN, _WEAK, _LESS = 1.3, 0.5, 0.75
_NEAR_MM = 12.0


def _stack(*thicknesses_mm: float, surface: Surface = Surface.GROUND_BARE) -> Stack:
    return Stack(tuple(Sheet(t, upper=surface, lower=surface) for t in thicknesses_mm))


def _at_start(name: str, what: str, stack: Stack) -> Shown:
    """Return a weld at the published start of its stack, with the face that goes with it."""
    start = published_start(stack, BARE)
    setting = Setting(start.current_kA, start.weld_ms, start.force_kN)
    return Shown(name, what, stack, setting, Electrode(CapShape.FLAT, start.face_mm))


def thickness() -> Lesson:
    """Return the lesson on twice the thickness at the same setting."""
    thin = _at_start("A", msg("thin sheets at their published start"), _stack(0.8, 0.8))
    thick = replace(thin, name="B", what=msg("twice as thick, machine as for A"))
    thick = replace(thick, stack=_stack(1.6, 1.6))
    own = _at_start("C", msg("the thick sheets at their own published start"), thick.stack)
    return Lesson(
        "thickness",
        msg("Thicker sheets"),
        msg(
            "The machine is set for A. Without touching it you weld B, twice as thick, with the "
            "same caps. How large is B's weld?"
        ),
        SizeGuess(1),
        (thin, thick, own),
        (
            msg("The minimum grows with the root of the thickness, so B has to be larger than A."),
            msg(
                "But there is twice as much metal to heat, and at A's current and time B stays "
                "below its minimum. More current alone, through A's small face and under A's small "
                "force, throws metal out before B reaches 5√t."
            ),
            msg(
                "So thicker sheets get a larger face, more force, more current and more time, all "
                "at once: that is how the published tables go."
            ),
        ),
        (_B1, MODEL),
    )


def zinc() -> Lesson:
    """Return the lesson on zinc at the setting for bare steel."""
    bare = _at_start("A", msg("ground bare at the published start"), _stack(1.2, 1.2))
    coated = _stack(1.2, 1.2, surface=Surface.HOT_DIP_ZINC)
    zinced = replace(bare, name="B", what=msg("hot-dip zinc, machine as for A"), stack=coated)
    return Lesson(
        "zinc",
        msg("Zinc on the sheets"),
        msg(
            "A is ground bare. B is the same sheet with its hot-dip zinc left on, welded at the "
            "same setting. How large is B's weld?"
        ),
        SizeGuess(1),
        (bare, zinced),
        (
            msg(
                "Zinc is soft and conducts well: the contact resists less and makes less heat, and "
                "molten zinc spreads the current over a wider ring. Melting starts later."
            ),
            msg(
                "Plain zinc wants about a fifth more current, often more time and force. The "
                "calculation says somewhat less than published."
            ),
            msg("A coupon ground bare says nothing about a joint with zinc, nor the reverse."),
        ),
        (_STEELS, MODEL),
    )


def _deeper(welds: Welds) -> int:
    """Return which sheet melted deeper: 0 for the thin one, 1 for the thick one, 2 for both."""
    thin, thick = welds[0].penetration
    depths = (0.8 * thin, 1.6 * thick)
    return 2 if max(depths) < 1.1 * min(depths) else int(depths[1] > depths[0])


def unequal() -> Lesson:
    """Return the lesson on a thin sheet on a thick one."""
    return Lesson(
        "unequal",
        msg("A thin sheet on a thick one"),
        msg("A thin sheet is welded to one twice as thick. In which sheet is more of the melt?"),
        WordGuess(
            (
                msg("in the thin one"),
                msg("in the thick one"),
                msg("half in each"),
            ),
            _deeper,
        ),
        (_at_start("A", msg("at the published start, entered with the thin sheet"), _UNEQUAL),),
        (
            msg(
                "Heat leaves through the water-cooled caps. The hottest place is midway between "
                "them, not where the sheets meet, and that lies in the thick sheet."
            ),
            msg(
                "The button is still judged by the thin sheet: its root sets the minimum. With a "
                "still thicker partner the melt may hardly reach the thin sheet."
            ),
        ),
        (MODEL, MEMORY),
    )


_UNEQUAL = _stack(0.8, 1.6)


def _smaller(welds: Welds) -> int:
    first, second = welds[0].diameters_mm
    return 2 if abs(first - second) < 0.05 * max(first, second) else int(second < first)


def three_sheets() -> Lesson:
    """Return the lesson on a thin outer sheet on two thick ones."""
    shown = _at_start("A", msg("a quarter below the published current"), _stack(0.6, 1.8, 1.8))
    less = replace(shown.setting, current_kA=_LESS * shown.setting.current_kA)
    return Lesson(
        "three",
        msg("Three sheets, the outer one thin"),
        msg(
            "A thin outer sheet lies on two thick ones, and the current is on the low side. Which "
            "weld is the smaller one?"
        ),
        WordGuess(
            (
                msg("between the thin and the thick sheet"),
                msg("between the two thick sheets"),
                msg("both are alike"),
            ),
            _smaller,
        ),
        (replace(shown, setting=less),),
        (
            msg(
                "The middle of the stack gets hottest and the melt grows from there. The outer "
                "interface lies close to a cooled cap: its weld stays smaller, and the melt goes "
                "only a little way into the thin sheet. A little less current, and it has none."
            ),
            msg(
                "Peel every interface. A good button between the thick sheets proves nothing for "
                "the thin one."
            ),
        ),
        (MODEL, MEMORY),
    )


def worn() -> Lesson:
    """Return the lesson on a face that has grown with wear."""
    fresh = _at_start("A", msg("freshly dressed, published start"), _stack(1.0, 1.0))
    face = replace(fresh.electrode, face_mm=round(_WORN * fresh.electrode.face_mm, 1))
    flat = replace(fresh, name="B", what=msg("worn: the face nearly a third wider"), electrode=face)
    return Lesson(
        "worn",
        msg("Worn caps"),
        msg(
            "The face of the caps has become nearly a third wider with wear. Setting and sheets "
            "are as before. How large is the weld now?"
        ),
        SizeGuess(1),
        (fresh, flat),
        (
            msg(
                "The current spreads over a larger face: there is less of it in each square "
                "millimetre, and more copper cools the sheet. The weld shrinks."
            ),
            msg(
                "Nothing on the dial shows it. Dress the caps by count, and test a coupon after "
                "it; more current only hides the wear for a while."
            ),
        ),
        (MODEL, MEMORY),
    )


def _throws(welds: Welds) -> int:
    thrown = [weld.expulsion is not None for weld in welds]
    return {(False, False): 0, (False, True): 1, (True, False): 2}.get((thrown[0], thrown[1]), 3)


def low_force() -> Lesson:
    """Return the lesson on half the force."""
    usual = _at_start("A", msg("published start"), _stack(1.2, 1.2))
    weak = replace(usual.setting, force_kN=_WEAK * usual.setting.force_kN)
    return Lesson(
        "force",
        msg("Too little force"),
        msg("B is welded with half the force of A, all else alike. Where is metal thrown out?"),
        WordGuess(
            (
                msg("nowhere"),
                msg("only with the low force"),
                msg("only with the usual force"),
                msg("with both"),
            ),
            _throws,
        ),
        (usual, replace(usual, name="B", what=msg("half the force"), setting=weak)),
        (
            msg(
                "Less force leaves more resistance where the sheets meet: melting starts sooner. "
                "But the force also shuts the melt in, and half of it no longer bears its pressure."
            ),
            msg(
                "What flies out is missing in the weld: it shrinks and may be hollow. The "
                "calculation does not know what is lost and goes on as if nothing had left: from "
                "that moment on its size is too large."
            ),
            msg(
                "With paste in the joint the force has to push it aside first: too little force "
                "is worse there, not better."
            ),
        ),
        (MODEL, "growth-curve-dp12-if08", MEMORY),
    )


def shunting() -> Lesson:
    """Return the lesson on a weld close to an earlier one."""
    alone = _at_start("A", msg("alone"), _stack(1.0, 1.0))
    near = replace(alone, name="B", what=msg("12 mm beside an earlier weld"))
    near = replace(near, neighbour_pitch_mm=_NEAR_MM)
    return Lesson(
        "shunting",
        msg("The second weld is smaller"),
        msg(
            "B is welded 12 mm beside a weld that is already there, at A's setting. How large is "
            "B's weld?"
        ),
        SizeGuess(1),
        (alone, near),
        (
            msg(
                "Part of the current takes the way through the finished weld, most of it at the "
                "start, while the new contact still resists. The dial shows the whole current."
            ),
            msg(
                "The nearer and the thicker, the more is lost; the calculation likely says too "
                "much on thick sheet. Keep the pitch, and make coupons with it too."
            ),
        ),
        (MODEL, MEMORY),
    )


@cache
def prepared() -> dict[str, Lesson]:
    """Return the lessons by their keys, in the order in which they are best shown."""
    made = (thickness, zinc, unequal, three_sheets, worn, low_force, shunting)
    return {lesson.key: lesson for lesson in (make() for make in made)}


def lesson(key: str) -> Lesson:
    """Return a lesson by its key.

    Raises
    ------
    InputError
        There is no such lesson.
    """
    found = prepared().get(key)
    if found is None:
        known = ", ".join(prepared())
        raise InputError(
            say("there is no lesson called {key!r}; there are: {known}", key=key, known=known)
        )
    return found
