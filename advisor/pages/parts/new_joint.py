"""A joint of a job: added from nothing, as a copy or as a usual one; corrected until released."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.language import msg, say
from advisor.pages.parts.drafts import draft, keep_or_show_both, started
from advisor.pages.parts.entry import attempt, quantity
from advisor.pages.parts.stack_entry import ask_stack
from advisor.pages.parts.ways import no_machine
from advisor.pages.session import Session
from advisor.store.joints import StoredJoint
from advisor.store.race import ANYTHING

#: Choices, and messages for `say`.
NEW_JOB = msg("a new job …")
_NOTHING = msg("an empty form")


def add_joint(session: Session, jobs: list[str]) -> None:
    """Draw the form for a new joint."""
    if not session.log.machines():
        no_machine(session, "joint")
        return
    start, key = _ask_start(session)
    job = st.selectbox(
        say("Job of the joint"),
        [*jobs, NEW_JOB],
        format_func=lambda each: say(NEW_JOB) if each == NEW_JOB else each,
        key=f"new·job·{len(jobs)}",
    )
    if job == NEW_JOB:
        job = st.text_input(say("Repair-order number"), key="new·number").strip()
    _form(session, key, job, start, "", None)


def correct_joint(session: Session, stored: StoredJoint, key: str) -> None:
    """Draw what corrects a joint that nobody has released yet."""
    if st.toggle(say("Correct this joint"), key=f"{key}·correct"):
        joint = stored.joint
        _form(session, f"{key}·form", joint.job, joint, joint.name, stored.id)


def _form(
    session: Session, key: str, job: str, start: Joint | None, name: str, joint_id: int | None
) -> None:
    """Draw the form of a joint; a number means that this joint is corrected."""
    done = say("Add the joint") if joint_id is None else say("Keep the correction")
    form = key
    with draft(session, form) as key:
        first = started(key, start)
        build = _ask_joint(session, key, job, first, name)
        pressed = st.button(done, type="primary", disabled=build is None, key=f"keep-{key}")
    if build is None:
        return

    def save(found: Joint | None) -> None:
        # A new joint starts from a copy, which is nobody's to overwrite.
        before = ANYTHING if joint_id is None else found
        session.log.save_joint(build(), session.who, joint_id, before)

    said = say("Joint added.") if joint_id is None else say("Joint corrected.")
    if keep_or_show_both(session, form, start, pressed=pressed, action=save, done=said):
        st.rerun()


def _ask_joint(
    session: Session, key: str, job: str, start: Joint | None, name: str
) -> Callable[[], Joint] | None:
    """Ask for a joint; what is returned builds it. None while its stack is not complete."""
    log = session.log
    machines = [machine.name for machine in log.machines()]
    left, right = st.columns(2)
    with left:
        name = st.text_input(
            say("Where it is"), name, placeholder=say("sill flange, outer"), key=f"{key}·name"
        )
    with right:
        first = machines.index(start.machine) if start and start.machine in machines else 0
        machine = st.selectbox(say("Machine"), machines, index=first, key=f"{key}·machine")
    adhesives = [adhesive.name for adhesive in log.adhesives()]
    stack = ask_stack(session, key, adhesives, start.stack if start else None)
    left, right = st.columns(2)
    with left:
        welds = st.number_input(
            say("Original welds"), value=start.welds if start else None, step=1, key=f"{key}·welds"
        )
    with right:
        old_pitch = start.pitch_mm if start else None
        pitch = quantity(say("Original pitch"), "length", f"{key}·pitch", session.units, old_pitch)
    if stack is None:
        return None
    return lambda: Joint(name.strip(), job, stack, machine, None, welds, pitch)


def _ask_start(session: Session) -> tuple[Joint | None, str]:
    """Ask what to start from; the widgets of the form are named after the answer."""
    # The form's keys, and so its draft, are named after the choice: it stays English.
    usual = {f"usual: {name}": joint for name, joint in session.log.templates().items()}
    copies = {f"a copy of {name}": number for number, name in session.log.joint_names().items()}
    if not usual and not copies:
        return None, "new·empty"
    chosen = st.selectbox(
        say("Start from"),
        [_NOTHING, *usual, *copies],
        format_func=_start_words,
        key="new·start",
    )
    if chosen in usual:
        return usual[chosen], f"new·{chosen}"
    if chosen in copies:
        return session.log.joint(copies[chosen]).joint, f"new·{copies[chosen]}"
    return None, "new·empty"


def _start_words(chosen: str) -> str:
    """Return a choice of `_ask_start` in words."""
    if chosen == _NOTHING:
        return say(_NOTHING)
    if chosen.startswith("usual: "):
        return say("usual: {name}", name=chosen.removeprefix("usual: "))
    return say("a copy of {name}", name=chosen.removeprefix("a copy of "))


def usual_joint(session: Session, joint: Joint, key: str) -> None:
    """Draw what keeps a joint among the shop's usual ones, or drops one."""
    with st.popover(say("Keep as a usual joint")):
        name = st.text_input(say("What the shop calls it"), joint.name, key=f"{key}·usual")
        st.write(say("Its stack, machine and original welds come back under *Add a joint*."))
        if st.button(say("Keep it"), key=f"{key}·keep") and attempt(
            lambda: session.log.save_template(name, joint, session.who),
            say("{name} kept.", name=name),
        ):
            st.rerun()
        known = list(session.log.templates())
        if known:
            old = st.selectbox(say("Or drop one"), known, key=f"{key}·drop")
            if st.button(say("Drop it"), key=f"{key}·dropping") and attempt(
                lambda: session.log.drop_template(old, session.who),
                say("{name} dropped.", name=old),
            ):
                st.rerun()
