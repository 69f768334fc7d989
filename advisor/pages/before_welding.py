"""Before welding: the joints of a job, which are covered, and what is still missing."""

from __future__ import annotations

import streamlit as st

from advisor.bonding.preparation import MARK, PREPARATION, SPACING
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint
from advisor.pages.parts.cards import bullets, coupon_line, joint_card
from advisor.pages.parts.clocks import entry
from advisor.pages.parts.entry import attempt, quantity
from advisor.pages.parts.joint_choice import NO_MACHINE
from advisor.pages.parts.stack_entry import ask_stack
from advisor.pages.session import Session
from advisor.store.releases import JointState
from advisor.weld.cautions import AT_THE_VEHICLE, OUTRANKS
from advisor.weld.published import spacing_mm

NEW_JOB = "a new job …"


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Before welding")
    jobs = session.log.jobs()
    if jobs:
        job = st.selectbox("Job", jobs, key=f"job·{len(jobs)}")
        for state in session.log.joint_states(job):
            _joint(session, state)
        _cautions()
        _close(session, job)
    else:
        st.info("No job is open. Add the first joint: where it is, its sheets, its adhesive.")
    with st.expander("Adhesive clocks"):
        entry(session)
    with st.expander("Add a joint", expanded=not jobs):
        _add_joint(session, jobs)


def _joint(session: Session, state: JointState) -> None:
    joint, coverage = state.stored.joint, state.coverage
    st.html(joint_card(joint, coverage, session))
    _release(session, state)
    with st.expander("Why, and what the joint needs"):
        _evidence(session, coverage)
        _original_welds(session, joint)
        if joint.stack.is_bonded:
            st.markdown(f"**Before it is closed** ({MARK})")
            st.html(bullets(PREPARATION))
        else:
            st.html(bullets((SPACING,)))


def _release(session: Session, state: JointState) -> None:
    release = state.release
    if release is not None:
        numbers = ", ".join(f"#{each.number}" for each in release.evidence)
        words = f"Released by {release.by}, {release.at.astimezone():%d %b %H:%M}, on {numbers}."
        if state.is_released:
            st.success(words)
            return
        st.error(f"OPEN AGAIN. {words} No longer: " + "; ".join(state.reopened) + ".")
    if state.coverage.state is not CoverState.COVERED:
        return
    with st.popover("Release this joint"):
        st.html(bullets(AT_THE_VEHICLE))
        st.write(f"{OUTRANKS} Released as **{session.who or 'nobody yet'}**.")
        if st.button("Release it for welding", key=f"release·{state.stored.id}", type="primary"):
            number = state.stored.id
            if attempt(lambda: session.log.release(number, session.who), "Joint released."):
                st.rerun()


def _evidence(session: Session, coverage: Coverage) -> None:
    st.markdown(f"**{coverage.passes} of {coverage.wanted}** passing coupons in a row.")
    for logged in coverage.evidence:
        st.markdown("- " + coupon_line(logged, session))
    if coverage.nearest is None:
        return
    st.markdown("Nearest coupon: " + coupon_line(coverage.nearest, session))
    if coverage.differences:
        st.markdown("It does not count because:")
        st.html(bullets(f"{d.condition.label}: {d.text}" for d in coverage.differences))


def _original_welds(session: Session, joint: Joint) -> None:
    needed = session.units.show("length", spacing_mm(joint.stack))
    source = f"smallest pitch without shunt compensation {needed} (inch table, from memory)"
    if joint.welds and joint.pitch_mm:
        pitch = session.units.show("length", joint.pitch_mm)
        st.markdown(f"Original: {joint.welds} welds at {pitch}; {source}.")
    else:
        st.markdown(source[0].upper() + source[1:] + ".")


def _cautions() -> None:
    with st.expander("Before the machine touches the vehicle", expanded=True):
        st.html(bullets(AT_THE_VEHICLE))


def _close(session: Session, job: str) -> None:
    with st.popover("Close this job"):
        st.write("Its joints and coupons stay in the log; the job leaves this list.")
        if st.button("Close it", key=f"close·{job}") and attempt(
            lambda: session.log.close_job(job, session.who), f"Job {job} closed."
        ):
            st.rerun()


def _add_joint(session: Session, jobs: list[str]) -> None:
    log = session.log
    machines = [machine.name for machine in log.machines()]
    if not machines:
        st.info(NO_MACHINE)
        return
    left, right = st.columns(2)
    with left:
        job = st.selectbox("Job of the joint", [*jobs, NEW_JOB], key=f"new·job·{len(jobs)}")
        if job == NEW_JOB:
            job = st.text_input("Repair-order number", key="new·number").strip()
    with right:
        name = st.text_input("Where it is", placeholder="sill flange, outer", key="new·name")
        machine = st.selectbox("Machine", machines, key="new·machine")
    stack = ask_stack("new", session.units, [a.name for a in log.adhesives()])
    left, right = st.columns(2)
    with left:
        welds = st.number_input("Original welds", value=None, step=1, key="new·welds")
    with right:
        pitch = quantity("Original pitch", "length", "new·pitch", session.units)
    if not st.button("Add the joint", type="primary", disabled=stack is None) or stack is None:
        return

    def add() -> None:
        joint = Joint(name.strip(), job, stack, machine, None, welds, pitch)
        log.save_joint(joint, session.who)

    if attempt(add, "Joint added."):
        st.rerun()
