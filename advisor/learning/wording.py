"""A suggestion in sentences, each worked out from the numbers it speaks of."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.learning.choice import Choice, is_lengthened
from advisor.learning.features import LeftOut
from advisor.learning.model import MachineModel
from advisor.learning.reach import Question
from advisor.weld.setting import CURRENT_STEP_KA, Setting
from advisor.weld.stack import AdhesiveState

_RECENT = 3
_BETWEEN = "the best chance between too small and expulsion"
_DIALLED = {"current_kA": "current", "weld_ms": "weld time", "force_kN": "force"}
_SAME = CURRENT_STEP_KA / 2
#: A shift that is not worth a reason of its own beside another. [kA]
_SLIGHT = 1.5 * CURRENT_STEP_KA
#: Chance of expulsion that is worth a warning.
_RISKY = 0.1


def basis(model: MachineModel, asked: Question) -> str:
    """Say what a suggestion rests on, without a full stop."""
    if model.n_coupons == 0:
        if model.n_machines:
            return f"{_machines(model.n_machines)} and {asked.start.basis}"
        return f"table only: {asked.start.basis}"
    off = model.off_table
    kin = sum(c.number in off for c in asked.kin)
    count = _coupons(model.n_coupons)
    others = f", {_machines(model.n_machines)}" if model.n_machines else ""
    return f"{count} of this machine ({kin} of this kind of stack){others} and {asked.start.basis}"


def _machines(count: int) -> str:
    return f"the shop's {count} other machine{'' if count == 1 else 's'}"


def _coupons(count: int) -> str:
    return f"{count} coupon" if count == 1 else f"{count} coupons"


def explanation(model: MachineModel, asked: Question, choice: Choice, prior: Choice) -> str:
    """Say how far the current is from the table's, and why.

    Parameters
    ----------
    model : MachineModel
        Model of the machine.
    asked : Question
        What the setting is for.
    choice : Choice
        What is suggested.
    prior : Choice
        What would be suggested without any coupon.

    Returns
    -------
    str
        One or two sentences.
    """
    if not choice.reach.ground.is_table:
        return _off_table(asked, choice)
    table = asked.start.current_kA
    away = choice.current_kA - table
    if abs(away) < _SAME + 1e-9:
        return f"The current of the table, {table:.1f} kA.{_no_reason_to_leave(model, choice)}"
    shift = f"{abs(away):.1f} kA {'above' if away > 0 else 'below'} the table's {table:.1f} kA"
    held = _held(asked, choice)
    if held:
        return f"{shift} because {held}."
    causes = _causes(model, asked, choice, prior)
    if len(causes) < 2:
        why = causes[0][1] if causes else f"for {_conditions(asked, prior)}"
        return f"{shift} {why}."
    return f"{shift}: {'; '.join(f'{_moved(by)} {why}' for by, why in causes)}."


def _off_table(asked: Question, choice: Choice) -> str:
    start, ground = asked.start, choice.reach.ground
    return (
        f"Coupons of this kind of stack passed on this machine at about {ground.weld_ms:.0f} ms "
        f"and {ground.force_kN:g} kN, the middle one at {ground.current_kA:.1f} kA: that counts "
        f"for more than the table's {start.current_kA:.1f} kA at {start.weld_ms:.0f} ms."
    )


def _no_reason_to_leave(model: MachineModel, choice: Choice) -> str:
    if model.n_coupons == 0:
        return " No coupon of this machine speaks yet."
    if choice.is_flat:
        return ""
    return f" {_coupons(model.n_coupons).capitalize()} of this machine give no reason to leave it."


def _held(asked: Question, choice: Choice) -> str:
    reach = choice.reach
    if choice.current_kA > asked.start.current_kA:
        return ""
    if not (choice.wants_more or is_lengthened(choice)):
        return ""
    return {
        "machine": f"{asked.machine.name} gives no more",
        "expulsion": f"a coupon threw metal out at {reach.expelled_kA or 0:.1f} kA",
    }.get(reach.stop, "")


def _causes(
    model: MachineModel, asked: Question, choice: Choice, prior: Choice
) -> list[tuple[float, str]]:
    """Return by how much [kA] the current moved from the table, and why, step by step."""
    before = prior.current_kA - asked.start.current_kA
    taught = choice.current_kA - prior.current_kA
    causes = []
    if abs(before) > _SLIGHT:
        causes.append((before, f"for {_conditions(asked, prior)}"))
    if abs(taught) > _SAME:
        causes.append((taught, f"because {_evidence(model, asked, taught)}"))
    return causes


def _moved(by_kA: float) -> str:
    return f"{abs(by_kA):.1f} kA {'more' if by_kA > 0 else 'less'}"


def _conditions(asked: Question, prior: Choice) -> str:
    start, found = asked.start, []
    face = asked.electrode.face_mm
    if abs(face / start.face_mm - 1) > 0.02:
        found.append(f"a {face:g} mm cap face instead of the table's {start.face_mm:g} mm")
    if abs(asked.force_kN / start.force_kN - 1) > 0.02:
        found.append(f"{asked.force_kN:g} kN instead of {start.force_kN:.1f} kN")
    if abs(prior.weld_ms / start.weld_ms - 1) > 0.02:
        found.append(f"{prior.weld_ms:.0f} ms instead of {start.weld_ms:.0f} ms")
    return " and ".join(found) or _BETWEEN


def _evidence(model: MachineModel, asked: Question, taught_kA: float) -> str:
    expelled = [c.coupon.setting.current_kA for c in asked.kin if c.coupon.expulsion]
    if expelled and taught_kA < 0:
        return f"a coupon of this kind of stack threw metal out at {min(expelled):.1f} kA"
    off = model.off_table
    for coupons, kind in ((asked.kin, "of this kind of stack"), (asked.coupons, "of other stacks")):
        recent = [off[c.number] for c in coupons if c.number in off][-_RECENT:]
        if not recent:
            continue
        percent = round(100 * math.expm1(sum(recent) / len(recent)))
        if percent * taught_kA < 0:
            which = "the last coupon" if len(recent) == 1 else f"the last {len(recent)} coupons"
            return f"{which} {kind} came out {abs(percent)} % {_size_word(percent)} than expected"
        break
    return f"{_all_coupons(model.n_coupons)} of this machine taken together say so"


def _size_word(percent: float) -> str:
    return "larger" if percent > 0 else "smaller"


def _all_coupons(count: int) -> str:
    return "the one coupon" if count == 1 else f"all {count} coupons"


def distance(asked: Question, setting: Setting) -> str:
    """Say how far a setting is from anything tested, without a full stop."""
    if not asked.coupons:
        return "Nothing tested on this machine yet"
    if not asked.kin:
        return "Nothing of this kind of stack tested on this machine yet"
    beyond = [text for each in _DIALLED.items() for text in _beyond(*each, asked.kin, setting)]
    if not beyond:
        return "Within what was tested"
    *first, last = beyond
    listed = f"{', '.join(first)} and {last}" if first else last
    return f"{listed} than any tested coupon of this kind of stack"


def _beyond(
    quantity: str, words: str, coupons: Sequence[LoggedCoupon], setting: Setting
) -> Iterator[str]:
    tested = [getattr(c.coupon.setting, quantity) for c in coupons]
    value = getattr(setting, quantity)
    above, below = round(100 * (value / max(tested) - 1)), round(100 * (1 - value / min(tested)))
    if above > 0:
        yield f"{above} % more {words}"
    elif below > 0:
        yield f"{below} % less {words}"


def notes(model: MachineModel, asked: Question, choice: Choice) -> tuple[str, ...]:
    """Return every reservation about a suggestion, one sentence each."""
    return (
        *_caps(asked, choice),
        *_size_notes(asked, choice),
        *_source_notes(asked),
        *_adhesive_notes(asked),
        *_coupon_notes(model.left_out, asked),
    )


def _caps(asked: Question, choice: Choice) -> Iterator[str]:
    start, reach = asked.start, choice.reach
    lengthened = is_lengthened(choice)
    if choice.wants_more or lengthened:
        yield {
            "machine": f"Capped by the machine: {asked.machine.name} gives at most "
            f"{asked.machine.largest_current_kA:g} kA.",
            "band": f"Held at the top of the published band, {asked.start.row.current_kA.high:g} "
            "kA, until a coupon of this kind of stack is tested.",
            "beyond": "Held at 15 % past every published and tested current: weld and "
            "test this one before going on.",
            "expulsion": f"Kept 5 % below {reach.expelled_kA or 0:.1f} kA, where a "
            "coupon of this kind of stack threw metal out.",
        }[reach.stop]
    if choice.wants_less:
        yield (
            f"Held at {choice.current_kA:g} kA, the lowest current that may be tried here: less "
            "would do, so watch for expulsion."
        )
    if lengthened:
        band = start.row.weld_ms
        yield (
            f"Weld time lengthened from {start.weld_ms:.0f} to {choice.weld_ms:.0f} ms because the "
            f"current is at the machine's limit (published band {band.low:.0f} to "
            f"{band.high:.0f} ms)."
        )
    if asked.force_is_capped:
        yield (
            f"Capped by the machine: force {asked.force_kN:g} kN instead of the published "
            f"{start.force_kN:.1f} kN."
        )


def _size_notes(asked: Question, choice: Choice) -> Iterator[str]:
    if choice.is_flat:
        home = "by the table" if choice.reach.ground.is_table else "by what passed"
        yield (
            f"On this machine size hardly follows current, so the current stays {home}: look at "
            "caps, force, cables and fit-up."
        )
    if choice.chance < 0.5:
        yield (
            f"More likely than not this coupon comes out below {choice.minimum_mm:.2f} mm: weld it "
            "to learn, not to pass."
        )
    if choice.chance_expulsion > _RISKY:
        yield (
            f"The chance of throwing metal out is {100 * choice.chance_expulsion:.0f} %: screen "
            "the weld and stand clear."
        )


def _source_notes(asked: Question) -> Iterator[str]:
    if asked.start.row.doubt:
        yield f"A figure of the table row is {asked.start.row.doubt}."


def _adhesive_notes(asked: Question) -> Iterator[str]:
    stack = asked.stack
    if not stack.is_bonded:
        return
    yield "No published figure says how adhesive moves the setting: only coupons tell."
    if stack.adhesive_state is not AdhesiveState.CURED:
        return
    passed = any(
        c.coupon.stack.same_as(stack) and c.verdict.outcome is Outcome.PASS for c in asked.coupons
    )
    yield "Through cured adhesive this setting is for a coupon only." + (
        "" if passed else f" {CURED_WITHOUT_TEST}"
    )


def _coupon_notes(left_out: LeftOut, asked: Question) -> Iterator[str]:
    if left_out.no_size:
        yield f"{_coupons(left_out.no_size)} without a measured diameter did not enter."
    if any(c.coupon.setting.pulses > 1 or c.coupon.setting.pre_ms for c in asked.coupons):
        yield "Coupons with several pulses or a pre-pulse were read as one pulse."
