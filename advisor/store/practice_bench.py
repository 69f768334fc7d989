"""The practice bench: a log of a trainee's own, with one joint to cover on a virtual machine.

The log is a file of its own, marked as a practice copy, and filled through the ordinary methods;
what was welded so far is kept in it under the trainee's name, as what is half done elsewhere is.
A weld is kept as its setting alone: the virtual machine gives the same coupon for it again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.errors import InputError, RecordError
from advisor.language import msg, say
from advisor.learning.bench_machine import BenchMachine, Peeled
from advisor.learning.exercises import ADHESIVE, EXERCISES, Exercise, machine_for
from advisor.store.base import Trust
from advisor.store.engine import file_url
from advisor.store.joints import StoredJoint
from advisor.store.log import Log, open_log
from advisor.store.practice import drop_file, own_file
from advisor.weld.setting import Setting

#: Repair order and place of the joint that is to be covered.
JOB, JOINT = "PRACTICE", "Practice joint"
#: Welds that one exercise holds. Choice of this project: more than a class welds.
MOST_WELDS = 300
_FORM = "practice bench"
_NOTE = "invented; times are common practice, no source"
#: Readings that differ by less than half of what a calliper is read to are the same. [mm]
_SAME_MM = 0.049


def bench_file(who: str) -> Path:
    """Return where a person's practice bench lies, or would lie."""
    return own_file("bench", who)


def bench_url(who: str) -> str:
    """Return the address of a person's practice bench."""
    return file_url(bench_file(who).name)


def make_bench(
    who: str,
    exercise: str,
    seed: int,
    preferences: Mapping[str, str] | None = None,
    now: datetime | None = None,
) -> str:
    """Begin an exercise; a person's older bench is replaced.

    Parameters
    ----------
    who : str
        The trainee, the only one in this log.
    exercise : str
        A key of `EXERCISES`.
    seed : int
        Number of the virtual machine.
    preferences : mapping, optional
        What is remembered for the trainee, such as units.
    now : datetime, optional
        Moment of beginning; the clock's when left out.

    Returns
    -------
    str
        Address of the log.

    Raises
    ------
    InputError
        There is no such exercise or machine; an older bench stays.
    StoreError
        The data folder cannot be written, or has no room.
    """
    work = BenchWork(exercise, seed)
    machine = work.machine
    drop_file(bench_file(who))
    log = open_log(bench_url(who))
    try:
        operator = log.used_by(Trust.OPERATOR)
        operator.mark_copy(who)
        operator.add_welder(who, who)
        operator.save_preferences(who, preferences or {})
        _fill(operator, machine, who, now or datetime.now(UTC))
        _keep(operator, who, work)
    finally:
        log.close()
    return bench_url(who)


def _fill(log: Log, machine: BenchMachine, who: str, now: datetime) -> None:
    log.save_machine(machine.machine, who)
    log.fit_caps(machine.machine.name, machine.caps, now, who)
    if machine.stack.is_bonded:
        work, clamps, cure = Span(40, 50), Span(90, 120), Span(1440, 1440)
        log.save_adhesive(Adhesive(ADHESIVE, work, clamps, cure, note=_NOTE), who)
    log.save_joint(Joint(JOINT, JOB, machine.stack, machine.machine.name), who)


@dataclass(frozen=True)
class Taken:
    """A peeled coupon that was taken to the form of the log.

    Parameters
    ----------
    number : int
        Which weld it was.
    at : datetime
        When it was taken there.
    """

    number: int
    at: datetime


@dataclass(frozen=True)
class BenchWork:
    """An exercise and what was welded in it so far.

    Parameters
    ----------
    exercise : str
        A key of `EXERCISES`.
    seed : int
        Number of the virtual machine.
    welds : tuple of Setting
        What was welded, oldest first.
    taken : tuple of Taken
        Which coupons were taken to the form of the log, oldest first.
    """

    exercise: str
    seed: int
    welds: tuple[Setting, ...] = ()
    taken: tuple[Taken, ...] = ()

    @cached_property
    def machine(self) -> BenchMachine:
        """The virtual machine."""
        return machine_for(self.exercise, self.seed)

    @property
    def about(self) -> Exercise:
        """What is practised."""
        return EXERCISES[self.exercise]

    def peeled(self, number: int) -> Peeled:
        """Return the coupon of a weld.

        Parameters
        ----------
        number : int
            Which weld, from 1.
        """
        return self.machine.weld(number, self.welds[number - 1])

    def written(self, coupons: Sequence[LoggedCoupon]) -> list[Written]:
        """Return the coupons of the log that count, each with the weld it stands for.

        A coupon stands for the one that was last taken to the form before it was made, or else for
        the newest weld at its setting; no weld is there for two.

        Parameters
        ----------
        coupons : sequence of LoggedCoupon
            Coupons of the log of this bench.
        """
        found: list[Written] = []
        used: set[int] = set()
        for logged in sorted(coupons, key=lambda each: each.number):
            if logged.voided:
                continue
            number = self._meant(logged, used)
            used |= {number} - {0}
            found.append(Written(logged, self.peeled(number) if number else None))
        return found

    def _meant(self, logged: LoggedCoupon, used: set[int]) -> int:
        """Return which weld a coupon stands for, 0 for none."""
        before = [each.number for each in self.taken if each.at <= logged.coupon.made_at]
        if before and before[-1] not in used:
            return before[-1]
        alike = [
            number
            for number, setting in enumerate(self.welds, 1)
            if number not in used and setting.same_as(logged.coupon.setting)
        ]
        return max(alike, default=0)


@dataclass(frozen=True)
class Misread:
    """A diameter that was written down otherwise than it was.

    Parameters
    ----------
    interface : int
        Which interface, from 1.
    which : str
        ``smallest`` or ``largest``.
    written_mm, peeled_mm : float
        What was written down, and what it was. [mm]
    """

    interface: int
    which: str
    written_mm: float
    peeled_mm: float

    @property
    def error_mm(self) -> float:
        """How far the reading is off. [mm]."""
        return self.written_mm - self.peeled_mm


@dataclass(frozen=True)
class Written:
    """A coupon of the log beside the weld it stands for.

    Parameters
    ----------
    logged : LoggedCoupon
        The coupon.
    peeled : Peeled or None
        What was peeled; None where no weld is left that it could stand for.
    """

    logged: LoggedCoupon
    peeled: Peeled | None

    @property
    def misread(self) -> tuple[Misread, ...]:
        """The diameters that were written down otherwise than they were."""
        return tuple(
            Misread(number, which, mine, true)
            for number, written, peeled in self._interfaces()
            for which, mine, true in (
                ("smallest", written.smallest_mm, peeled.smallest_mm),
                ("largest", written.largest_mm, peeled.largest_mm),
            )
            if mine is not None and true is not None and abs(mine - true) > _SAME_MM
        )

    @property
    def other_words(self) -> tuple[str, ...]:
        """What else differs, in words: setting, how it failed, metal thrown out."""
        if self.peeled is None:
            return (say("no weld on this bench is left that this coupon could stand for"),)
        found = [say("setting: {difference}", difference=t) for t in self._setting_differences()]
        many = len(self.peeled.torn) > 1
        for number, written, peeled in self._interfaces():
            if written.failure is not peeled.failure and written.failure is not None:
                torn = peeled.failure.label if peeled.failure else ""
                mine = written.failure.label
                found.append(say(_FAILED[many], interface=number, written=mine, torn=torn))
        if self.logged.coupon.expulsion != self.peeled.expulsion:
            found.append(say(_EXPULSION[self.peeled.expulsion]))
        return tuple(found)

    def _setting_differences(self) -> list[str]:
        return self.logged.coupon.setting.differences(self.peeled.setting) if self.peeled else []

    def _interfaces(self) -> list[tuple[int, InterfaceResult, InterfaceResult]]:
        """Return each interface's number, what was written, and what was peeled."""
        if self.peeled is None:
            return []
        both = zip(self.logged.coupon.results, self.peeled.results, strict=True)
        return [(number, *pair) for number, pair in enumerate(both, 1)]


#: How a coupon failed, by whether the interface has to be named; whether metal was thrown out.
_FAILED = {
    False: msg("how it failed: {written}, not {torn}"),
    True: msg("how it failed at interface {interface}: {written}, not {torn}"),
}
_EXPULSION = {
    True: msg("expulsion: metal was thrown out"),
    False: msg("expulsion: no metal was thrown out"),
}


def work_of(log: Log, who: str) -> BenchWork:
    """Return the exercise of a practice bench and what was welded so far.

    Parameters
    ----------
    log : Log
        The log of the bench.
    who : str
        The trainee.

    Raises
    ------
    RecordError
        This log holds no exercise of theirs, or one that this version does not know.
    """
    kept = log.draft(who, _FORM)
    read = json.loads(kept.body) if kept else {}
    if read.get("exercise") not in EXERCISES:
        raise RecordError(
            say(
                "this log holds no exercise of {person} that this version knows; begin one on the "
                "page Class, Practice bench",
                person=who,
            )
        )
    welds = tuple(Setting(*each) for each in read["welds"])
    taken = tuple(Taken(number, datetime.fromisoformat(at)) for number, at in read["taken"])
    return BenchWork(read["exercise"], read["seed"], welds, taken)


def _keep(log: Log, who: str, work: BenchWork) -> None:
    body = {
        "exercise": work.exercise,
        "seed": work.seed,
        "welds": [
            (s.current_kA, s.weld_ms, s.force_kN, s.squeeze_ms, s.hold_ms) for s in work.welds
        ],
        "taken": [(each.number, each.at.isoformat(timespec="microseconds")) for each in work.taken],
    }
    log.save_draft(who, _FORM, json.dumps(body, separators=(",", ":")))


def weld_coupon(log: Log, who: str, setting: Setting) -> Peeled:
    """Weld the next coupon of an exercise and peel it.

    Parameters
    ----------
    log : Log
        The log of the bench.
    who : str
        The trainee.
    setting : Setting
        What is dialled.

    Raises
    ------
    LimitError
        The machine cannot run it; nothing was welded.
    InputError
        The exercise is full; nothing was welded.
    """
    work = work_of(log, who)
    if len(work.welds) >= MOST_WELDS:
        raise InputError(
            say(
                "{most} coupons are welded, as many as one exercise holds; begin it anew",
                most=MOST_WELDS,
            )
        )
    dialled = work.machine.dialled(setting)
    work = replace(work, welds=(*work.welds, dialled))
    _keep(log, who, work)
    return work.peeled(len(work.welds))


def take_to_log(log: Log, who: str, number: int, now: datetime | None = None) -> None:
    """Note that a coupon was taken to the form of the log, so that what is logged is known for it.

    Parameters
    ----------
    log : Log
        The log of the bench.
    who : str
        The trainee.
    number : int
        Which weld.
    now : datetime, optional
        When; the clock's when left out.
    """
    work = work_of(log, who)
    taken = (*work.taken[-MOST_WELDS:], Taken(number, now or datetime.now(UTC)))
    _keep(log, who, replace(work, taken=taken))


def practice_joint(log: Log) -> StoredJoint:
    """Return the joint that is to be covered.

    Parameters
    ----------
    log : Log
        The log of the bench.
    """
    return log.joints()[0]
