"""A suggestion in sentences, each worked out from the numbers it speaks of."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import reduce

from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.language import listed, msg, say, say_number
from advisor.learning.choice import Choice, is_lengthened
from advisor.learning.features import LeftOut
from advisor.learning.model import MachineModel
from advisor.learning.reach import Question
from advisor.weld.setting import CURRENT_STEP_KA, Setting
from advisor.weld.stack import AdhesiveState

_RECENT = 3
#: What lies beyond all that was tested, by quantity and whether it is more.
_BEYOND = {
    ("current_kA", True): msg("{percent} % more current"),
    ("current_kA", False): msg("{percent} % less current"),
    ("weld_ms", True): msg("{percent} % more weld time"),
    ("weld_ms", False): msg("{percent} % less weld time"),
    ("force_kN", True): msg("{percent} % more force"),
    ("force_kN", False): msg("{percent} % less force"),
}
_FOR, _BECAUSE = "for", "because"
_ALONE = {_FOR: msg("{shift} for {why}."), _BECAUSE: msg("{shift} because {why}.")}
#: A part of a shift, by its kind and whether it is more current.
_PART = {
    (_FOR, True): msg("{by:.1f} kA more for {why}"),
    (_FOR, False): msg("{by:.1f} kA less for {why}"),
    (_BECAUSE, True): msg("{by:.1f} kA more because {why}"),
    (_BECAUSE, False): msg("{by:.1f} kA less because {why}"),
}
_HELD = {
    "machine": msg("{machine} gives no more"),
    "expulsion": msg("a coupon threw metal out at {expelled:.1f} kA"),
}
_CAPPED = {
    "machine": msg("Capped by the machine: {machine} gives at most {most:g} kA."),
    "band": msg(
        "Held at the top of the published band, {top:g} kA, until a coupon of this kind of stack "
        "is tested."
    ),
    "beyond": msg(
        "Held at 15 % past every published and tested current: weld and test this one before going "
        "on."
    ),
    "expulsion": msg(
        "Kept 5 % below {expelled:.1f} kA, where a coupon of this kind of stack threw metal out."
    ),
}
#: A shift that is none: half a step of a dial. Choice of this project.
_SAME = CURRENT_STEP_KA / 2
#: A shift that is not worth a reason of its own beside another. Choice of this project. [kA]
_SLIGHT = 1.5 * CURRENT_STEP_KA
#: Chance of expulsion that is worth a warning. Choice of this project: one weld in ten.
_RISKY = 0.1


def basis(model: MachineModel, asked: Question) -> str:
    """Say what a suggestion rests on, without a full stop."""
    table = asked.start.basis
    if not (model.n_coupons or model.n_machines):
        return say("table only: {table}", table=table)
    return listed([*_own_coupons(model, asked), *_other_machines(model.n_machines), table])


def _own_coupons(model: MachineModel, asked: Question) -> Iterator[str]:
    off = model.off_table
    if model.n_coupons:
        yield say_number(
            "{number} coupon of this machine ({kin} of this kind of stack)",
            "{number} coupons of this machine ({kin} of this kind of stack)",
            model.n_coupons,
            kin=sum(c.number in off for c in asked.kin),
        )


def _other_machines(count: int) -> Iterator[str]:
    if count:
        yield say_number(
            "the shop's {number} other machine", "the shop's {number} other machines", count
        )


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
        stays = say("The current of the table, {table:.1f} kA.", table=table)
        return " ".join([stays, *_no_reason_to_leave(model, choice)])
    held = _held(asked, choice)
    if held:
        return say(_ALONE[_BECAUSE], shift=_shift(away, table), why=held)
    causes = _causes(model, asked, choice, prior) or [(away, _FOR, _conditions(asked, prior))]
    if len(causes) == 1:
        _, kind, why = causes[0]
        return say(_ALONE[kind], shift=_shift(away, table), why=why)
    parts = [say(_PART[kind, by > 0], by=abs(by), why=why) for by, kind, why in causes]
    return say("{shift}: {parts}.", shift=_shift(away, table), parts="; ".join(parts))


def _shift(away_kA: float, table_kA: float) -> str:
    if away_kA > 0:
        return say("{away:.1f} kA above the table's {table:.1f} kA", away=away_kA, table=table_kA)
    return say("{away:.1f} kA below the table's {table:.1f} kA", away=-away_kA, table=table_kA)


def _off_table(asked: Question, choice: Choice) -> str:
    start, ground = asked.start, choice.reach.ground
    return say(
        "Coupons of this kind of stack passed on this machine at about {time:.0f} ms and "
        "{force:g} kN, the middle one at {current:.1f} kA: that counts for more than the table's "
        "{table_current:.1f} kA at {table_time:.0f} ms.",
        time=ground.weld_ms,
        force=ground.force_kN,
        current=ground.current_kA,
        table_current=start.current_kA,
        table_time=start.weld_ms,
    )


def _no_reason_to_leave(model: MachineModel, choice: Choice) -> Iterator[str]:
    if model.n_coupons == 0:
        yield say("No coupon of this machine speaks yet.")
    elif not choice.is_flat:
        yield say_number(
            "{number} coupon of this machine give no reason to leave it.",
            "{number} coupons of this machine give no reason to leave it.",
            model.n_coupons,
        )


def _held(asked: Question, choice: Choice) -> str:
    reach = choice.reach
    if choice.current_kA > asked.start.current_kA:
        return ""
    if not (choice.wants_more or is_lengthened(choice)):
        return ""
    if reach.stop not in _HELD:
        return ""
    return say(_HELD[reach.stop], machine=asked.machine.name, expelled=reach.expelled_kA or 0)


def _causes(
    model: MachineModel, asked: Question, choice: Choice, prior: Choice
) -> list[tuple[float, str, str]]:
    """Return by how much [kA] the current moved from the table, step by step, and why."""
    before = prior.current_kA - asked.start.current_kA
    taught = choice.current_kA - prior.current_kA
    causes = []
    if abs(before) > _SLIGHT:
        causes.append((before, _FOR, _conditions(asked, prior)))
    if abs(taught) > _SAME:
        causes.append((taught, _BECAUSE, _evidence(model, asked, taught)))
    return causes


def _conditions(asked: Question, prior: Choice) -> str:
    start, found = asked.start, []
    face = asked.electrode.face_mm
    if abs(face / start.face_mm - 1) > 0.02:
        found.append(
            say(
                "a {face:g} mm cap face instead of the table's {table:g} mm",
                face=face,
                table=start.face_mm,
            )
        )
    if abs(asked.force_kN / start.force_kN - 1) > 0.02:
        found.append(
            say(
                "{force:g} kN instead of {table:.1f} kN",
                force=asked.force_kN,
                table=start.force_kN,
            )
        )
    if abs(prior.weld_ms / start.weld_ms - 1) > 0.02:
        found.append(
            say("{time:.0f} ms instead of {table:.0f} ms", time=prior.weld_ms, table=start.weld_ms)
        )
    if not found:
        return say("the best chance between too small and expulsion")
    return reduce(lambda before, last: listed([before, last]), found)


def _evidence(model: MachineModel, asked: Question, taught_kA: float) -> str:
    expelled = [c.coupon.setting.current_kA for c in asked.kin if c.coupon.expulsion]
    if expelled and taught_kA < 0:
        return say(
            "a coupon of this kind of stack threw metal out at {expelled:.1f} kA",
            expelled=min(expelled),
        )
    off = model.off_table
    for coupons in (asked.kin, asked.coupons):
        recent = [off[c.number] for c in coupons if c.number in off][-_RECENT:]
        if not recent:
            continue
        percent = round(100 * math.expm1(sum(recent) / len(recent)))
        if percent * taught_kA < 0:
            return _came_out(percent, len(recent), is_kin=coupons is asked.kin)
        break
    return say_number(
        "the one coupon of this machine taken together say so",
        "all {number} coupons of this machine taken together say so",
        model.n_coupons,
    )


def _came_out(percent: int, count: int, *, is_kin: bool) -> str:
    size = (
        say("{percent} % larger than expected", percent=percent)
        if percent > 0
        else say("{percent} % smaller than expected", percent=-percent)
    )
    if is_kin:
        return say_number(
            "the last coupon of this kind of stack came out {size}",
            "the last {number} coupons of this kind of stack came out {size}",
            count,
            size=size,
        )
    return say_number(
        "the last coupon of other stacks came out {size}",
        "the last {number} coupons of other stacks came out {size}",
        count,
        size=size,
    )


def distance(asked: Question, setting: Setting) -> str:
    """Say how far a setting is from anything tested, without a full stop."""
    if not asked.coupons:
        return say("Nothing tested on this machine yet")
    if not asked.kin:
        return say("Nothing of this kind of stack tested on this machine yet")
    dialled = dict.fromkeys(quantity for quantity, _ in _BEYOND)
    beyond = [text for each in dialled for text in _beyond(each, asked.kin, setting)]
    if not beyond:
        return say("Within what was tested")
    return say("{beyond} than any tested coupon of this kind of stack", beyond=listed(beyond))


def _beyond(quantity: str, coupons: Sequence[LoggedCoupon], setting: Setting) -> Iterator[str]:
    tested = [getattr(c.coupon.setting, quantity) for c in coupons]
    value = getattr(setting, quantity)
    above, below = round(100 * (value / max(tested) - 1)), round(100 * (1 - value / min(tested)))
    if above > 0:
        yield say(_BEYOND[quantity, True], percent=above)
    elif below > 0:
        yield say(_BEYOND[quantity, False], percent=below)


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
        yield say(
            _CAPPED[reach.stop],
            machine=asked.machine.name,
            most=asked.machine.largest_current_kA,
            top=start.row.current_kA.high,
            expelled=reach.expelled_kA or 0,
        )
    if choice.wants_less:
        yield say(
            "Held at {current:g} kA, the lowest current that may be tried here: less would do, so "
            "watch for expulsion.",
            current=choice.current_kA,
        )
    if lengthened:
        band = start.row.weld_ms
        yield say(
            "Weld time lengthened from {start:.0f} to {time:.0f} ms because the current is at the "
            "machine's limit (published band {low:.0f} to {high:.0f} ms).",
            start=start.weld_ms,
            time=choice.weld_ms,
            low=band.low,
            high=band.high,
        )
    if asked.force_is_capped:
        yield say(
            "Capped by the machine: force {force:g} kN instead of the published {table:.1f} kN.",
            force=asked.force_kN,
            table=start.force_kN,
        )


def _size_notes(asked: Question, choice: Choice) -> Iterator[str]:
    if choice.is_flat and choice.reach.ground.is_table:
        yield say(
            "On this machine size hardly follows current, so the current stays by the table: look "
            "at caps, force, cables and fit-up."
        )
    elif choice.is_flat:
        yield say(
            "On this machine size hardly follows current, so the current stays by what passed: "
            "look at caps, force, cables and fit-up."
        )
    if choice.chance < 0.5:
        yield say(
            "More likely than not this coupon comes out below {minimum:.2f} mm: weld it to learn, "
            "not to pass.",
            minimum=choice.minimum_mm,
        )
    if choice.chance_expulsion > _RISKY:
        yield say(
            "The chance of throwing metal out is {chance:.0f} %: screen the weld and stand clear.",
            chance=100 * choice.chance_expulsion,
        )


def _source_notes(asked: Question) -> Iterator[str]:
    if asked.start.row.doubt:
        yield say("A figure of the table row is {doubt}.", doubt=asked.start.row.doubt)


def _adhesive_notes(asked: Question) -> Iterator[str]:
    stack = asked.stack
    if not stack.is_bonded:
        return
    yield say("No published figure says how adhesive moves the setting: only coupons tell.")
    if stack.adhesive_state is not AdhesiveState.CURED:
        return
    passed = any(
        c.coupon.stack.same_as(stack) and c.verdict.outcome is Outcome.PASS for c in asked.coupons
    )
    only = say("Through cured adhesive this setting is for a coupon only.")
    yield only if passed else f"{only} {say(CURED_WITHOUT_TEST)}"


def _coupon_notes(left_out: LeftOut, asked: Question) -> Iterator[str]:
    if left_out.no_size:
        yield say_number(
            "{number} coupon without a measured diameter did not enter.",
            "{number} coupons without a measured diameter did not enter.",
            left_out.no_size,
        )
    if any(c.coupon.setting.pulses > 1 or c.coupon.setting.pre_ms for c in asked.coupons):
        yield say("Coupons with several pulses or a pre-pulse were read as one pulse.")
