"""Practice bench: weld and peel coupons on a virtual machine, log them with the real forms."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import streamlit as st

from advisor.coupons.coverage import Coverage, CoverState
from advisor.errors import AdvisorError
from advisor.language import msg, say, say_number
from advisor.learning.bench_machine import MOST_SEED
from advisor.learning.exercises import EXERCISES, fresh_number
from advisor.pages import log_coupon
from advisor.pages.classroom.bench_parts import (
    MOST_COUPONS,
    Behind,
    proof_words,
    reading_lines,
    show_peeled,
    target_of,
    true_window,
)
from advisor.pages.parts.advice import advice
from advisor.pages.parts.cards import bullets, joint_card
from advisor.pages.parts.drafts import draft, forget
from advisor.pages.parts.joint_choice import Target
from advisor.pages.parts.plain import plain
from advisor.pages.parts.ribbon import leave_button
from advisor.pages.parts.setting_entry import ask_setting, setting_from
from advisor.pages.session import BENCH, Session, aside, begin_bench, bench_log, enter, go_to
from advisor.people.roles import Act, may
from advisor.store.practice_bench import (
    BenchWork,
    Written,
    bench_file,
    practice_joint,
    take_to_log,
    weld_coupon,
    work_of,
)
from advisor.units import Calibration
from advisor.weld.setting import Setting

_FORM, _START = "bench·setting", "bench·start"
_WHAT = msg(
    "Find a sound setting with few coupons before you touch a real machine: set a virtual machine, "
    "weld and peel coupons, read them and log them with the app's own forms, until the joint is "
    "covered. Machine, coupons and scatter are invented, and the log is a file of your own: "
    "nothing here reaches the shop's log."
)


def show(session: Session) -> None:
    """Draw the view."""
    place = aside()
    if place == BENCH:
        _inside(session)
        return
    st.subheader(say("Practice bench"))
    st.write(say(_WHAT))
    if place:
        st.info(say("The bench is entered from the shop's own log: leave this place first."))
        leave_button(place, "bench")
    elif not session.who:
        st.info(say("Choose your name at the top first: the bench is your own."))
    else:
        _go_back(session)
        _choose(session)
        _look_on(session)


def _go_back(session: Session) -> None:
    if not bench_file(session.who).exists():
        return
    with st.container(border=True):
        st.markdown(say("You have begun: **{exercise}**.", exercise=_begun(session.who)))
        if st.button(say("Go on with it"), type="primary", width="stretch"):
            enter(BENCH)
            st.rerun()


def _begun(who: str) -> str:
    log = bench_log(who)
    try:
        work = work_of(log, who) if log else None
    except AdvisorError as error:
        return plain(error)
    return _title(work) if work else ""


def _title(work: BenchWork) -> str:
    return say(
        "{exercise}, machine {seed}, {count} welded",
        exercise=say(work.about.name),
        seed=work.seed,
        count=len(work.welds),
    )


def _choose(session: Session) -> None:
    """Ask for an exercise and begin it."""
    chosen = st.radio(
        say("Exercise"),
        list(EXERCISES),
        format_func=lambda key: say(EXERCISES[key].name),
        key="bench·exercise",
    )
    st.markdown(say(EXERCISES[chosen].story))
    number = st.number_input(
        say("Machine number"),
        value=None,
        min_value=0,
        max_value=MOST_SEED,
        step=1,
        placeholder=say("any"),
        help=say("The same number gives the same machine to everybody in a class."),
        key="bench·number",
    )
    if bench_file(session.who).exists():
        st.caption(say("Beginning throws your earlier exercise and its log away."))
    if st.button(say("Begin this exercise"), width="stretch", key="bench·begin"):
        seed = fresh_number(chosen, np.random.default_rng()) if number is None else int(number)
        try:
            with st.spinner(say("Setting up the bench …")):
                begin_bench(session, chosen, seed)
        except AdvisorError as error:
            st.error(plain(error))
            return
        st.rerun()


def _inside(session: Session) -> None:
    try:
        work = work_of(session.log, session.who)
        target = target_of(session.log)
    except AdvisorError as error:
        st.error(plain(error))
    else:
        _aim(session, work, target)
        _weld(session, work, target)
        written = work.written(session.log.recent_coupons(MOST_COUPONS))
        if work.welds:
            _peeled(session, work, target, written)
        _so_far(session, work, target, written)
        _behind(session, Behind(session.log, work, target))
    with st.expander(say("Another exercise")):
        _choose(session)


def _aim(session: Session, work: BenchWork, target: Target) -> None:
    wanted = session.log.rules().coverage.passes_in_a_row
    st.subheader(say(work.about.name))
    st.markdown(
        say_number(
            "{story} **Cover the joint** ({stack}): {number} passing coupon at one setting. "
            "Virtual machine {seed}.",
            "{story} **Cover the joint** ({stack}): {number} passing coupons in a row at one "
            "setting. Virtual machine {seed}.",
            wanted,
            story=say(work.about.story),
            stack=plain(target.stack.title(session.thickness)),
            seed=work.seed,
        )
    )


def _weld(session: Session, work: BenchWork, target: Target) -> None:
    """Ask for a setting and weld a coupon with it."""
    last = work.welds[-1] if work.welds else None
    start: Setting | None = st.session_state.get(_START, last)
    with st.container(border=True), draft(session, _FORM) as key:
        title = say("Set the machine")
        st.markdown(f"**{title}** · {plain(_welded(work))}")
        typed = ask_setting(session.units, target.machine.calibration, key, start)
        pressed = st.button(
            say("Weld a coupon"), type="primary", width="stretch", key=f"weld-{key}"
        )
        place = st.container()
    if not pressed:
        return
    try:
        weld_coupon(session.log, session.who, setting_from(typed))
    except AdvisorError as error:
        place.error(plain(error))
        return
    st.session_state.pop(_START, None)
    forget(session, _FORM)
    st.rerun()


def _welded(work: BenchWork) -> str:
    made = len(work.welds)
    if not made:
        return say("new caps are fitted; nothing is welded yet.")
    return say_number("{number} weld on these caps.", "{number} welds on these caps.", made)


def _peeled(session: Session, work: BenchWork, target: Target, written: Sequence[Written]) -> None:
    numbers = list(range(len(work.welds), 0, -1))
    known = {each.peeled.number: each for each in written if each.peeled}
    st.subheader(say("The peeled coupon"))
    number = st.selectbox(
        say("Which weld"),
        numbers,
        format_func=lambda n: _coupon_words(session, work, target, n, known.get(n)),
        key=f"bench·coupon·{len(numbers)}",
    )
    show_peeled(session, work.peeled(number))
    if number in known:
        _as_logged(session, known[number])
    elif st.button(say("Log this coupon"), type="primary", width="stretch"):
        _take(session, work, target, number)


def _coupon_words(
    session: Session, work: BenchWork, target: Target, number: int, written: Written | None
) -> str:
    shown = _setting_words(session, work.welds[number - 1], target.machine.calibration)
    if written is None:
        return say("Weld {number} · {setting} · not logged", number=number, setting=shown)
    return say(
        "Weld {number} · {setting} · logged as #{coupon}",
        number=number,
        setting=shown,
        coupon=written.logged.number,
    )


def _setting_words(session: Session, setting: Setting, calibration: Calibration) -> str:
    return " · ".join(session.units.dials(setting, calibration))


def _as_logged(session: Session, written: Written) -> None:
    logged = written.logged
    st.markdown(
        say(
            "Logged as **#{number}**: {verdict}.",
            number=logged.number,
            verdict=plain(logged.verdict.outcome.label),
        )
    )
    lines = reading_lines(session, written)
    if not lines:
        st.success(say("Read and written down as it was."))
        return
    st.warning(say("Written down otherwise than it was; the log stays as you wrote it."))
    st.html(f'<div class="card">{bullets(lines)}</div>')


def _take(session: Session, work: BenchWork, target: Target, number: int) -> None:
    """Go to the real form, filled in as for a repeat coupon with what was welded."""
    take_to_log(session.log, session.who, number)
    for key in [key for key in st.session_state if str(key).startswith("target·")]:
        del st.session_state[key]  # the form asks the address again for which joint

    def said() -> str:
        return say("Setting of practice weld {number}.", number=number)

    log_coupon._new_blank(target, work.welds[number - 1], said)
    go_to("coupon", session, joint=str(practice_joint(session.log).id))


def _so_far(session: Session, work: BenchWork, target: Target, written: Sequence[Written]) -> None:
    if target.joint is None:
        return
    st.subheader(say("What it took so far"))
    coverage = session.log.coverage(target.joint)
    st.markdown(
        say(
            "Coupons welded **{welded}**, logged **{logged}**, passes in a row **{passes}**; the "
            "joint asks for {wanted}.",
            welded=len(work.welds),
            logged=len(written),
            passes=coverage.passes,
            wanted=coverage.wanted,
        )
    )
    st.html(joint_card(target.joint, coverage, session))
    if coverage.state is CoverState.COVERED:
        _covered(work, coverage, written)
    else:
        _advised(session, target)
    stray = [
        f"#{each.logged.number}: {text}"
        for each in written
        if each.peeled is None
        for text in each.other_words
    ]
    if stray:
        st.html(f'<div class="card">{bullets(stray)}</div>')


def _covered(work: BenchWork, coverage: Coverage, written: Sequence[Written]) -> None:
    """Say how many coupons it took, and what so many prove; later ones do not count."""
    last = sorted(each.number for each in coverage.evidence)[coverage.wanted - 1]
    logged = [each for each in written if each.logged.number <= last]
    welded = max((each.peeled.number for each in logged if each.peeled), default=len(work.welds))
    st.success(
        say_number(
            "Covered after {number} coupon welded and {logged} logged.",
            "Covered after {number} coupons welded and {logged} logged.",
            welded,
            logged=len(logged),
        )
    )
    st.markdown(plain(proof_words(coverage, [each.logged for each in written])))


def _advised(session: Session, target: Target) -> None:
    """Say what the advisor would weld next; the machine can be set to it."""
    try:
        following = advice(session, target).advice.next_coupon
    except AdvisorError as refusal:
        st.info(plain(refusal))
        return
    words = _setting_words(session, following.setting, target.machine.calibration)
    st.markdown(
        say(
            "The advisor would weld next: **{setting}**. {reason}",
            setting=plain(words),
            reason=plain(following.reason),
        )
    )
    left, right = st.columns(2)
    if left.button(say("Set the machine to it"), width="stretch"):
        st.session_state[_START] = following.setting
        forget(session, _FORM)
        st.rerun()
    if right.button(say("See why: Next setting"), width="stretch"):
        go_to("setting", session, joint=str(practice_joint(session.log).id))


def _may_look(session: Session) -> bool:
    """Whether this person may look behind a bench; on a machine alone everybody may."""
    return session.visit is None or may(session.visit.person.role, Act.TRUE_WINDOW)


def _behind(session: Session, behind: Behind) -> None:
    if not _may_look(session):
        st.caption(say("The true window of this machine is shown to a lead or a trainer."))
    elif st.toggle(say("Show the true window"), key="bench·window"):
        true_window(session, behind)


def _look_on(session: Session) -> None:
    """Let an instructor look behind the bench of somebody else."""
    if not _may_look(session):
        return
    others = [name for name in session.log.welders() if name != session.who]
    begun = [name for name in others if bench_file(name).exists()]
    if not begun:
        return
    with st.expander(say("Look behind somebody's bench")):
        name = st.selectbox(
            say("Whose"),
            begun,
            index=None,
            format_func=plain,
            key="bench·whose",
            placeholder=say("choose"),
        )
        log = bench_log(name) if name else None
        if log is None or name is None:
            return
        try:
            work = work_of(log, name)
        except AdvisorError as error:
            st.error(plain(error))
            return
        st.markdown(f"**{plain(name)}**: {plain(_title(work))}")
        true_window(session, Behind(log, work, target_of(log)))
