"""Before welding: the joints of a job, which are covered, and what is still missing."""

from __future__ import annotations

import streamlit as st

from advisor.bonding.preparation import MARK, SPACING, findings
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint
from advisor.coupons.release import Release
from advisor.language import say, say_number
from advisor.pages.parts import first_list, plan, preparation, recommendation
from advisor.pages.parts.cards import bullets, coupon_line, joint_card
from advisor.pages.parts.clocks import entry
from advisor.pages.parts.entry import attempt
from advisor.pages.parts.joint_choice import remember_joint
from advisor.pages.parts.new_joint import add_joint, correct_joint, usual_joint
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session, go_to
from advisor.store.joints import StoredJoint
from advisor.store.releases import JointState
from advisor.weld.cautions import AT_THE_VEHICLE, CURED, OUTRANKS
from advisor.weld.published import spacing_mm
from advisor.weld.stack import AdhesiveState

#: Joints drawn at once; a job of many is turned over like pages.
AT_ONCE = 4


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Before welding"))
    is_new = first_list.show(session)
    jobs = session.log.jobs()
    if jobs:
        job = st.selectbox(say("Job"), jobs, key=_job_key(jobs))
        _joints(session, job)
        planned = st.expander(
            say("Coupons to weld for this job"), on_change="rerun", key=f"plan·{job}"
        )
        if planned.open:
            with planned:
                plan.show(session, job, session.log.joint_states(job))
        _cautions()
        _record(session, job)
        _close(session, job)
    elif not is_new:
        st.info(say("No job is open. Add the first joint: where it is, its sheets, its adhesive."))
    with st.expander(say("Adhesive clocks")):
        entry(session)
    with st.expander(say("Add a joint"), expanded=not jobs):
        add_joint(session, jobs)


def _job_key(jobs: list[str]) -> str:
    """Return the key of the job's field, which begins with the job of the address, if any."""
    key = f"job·{len(jobs)}"
    if key not in st.session_state:
        asked = st.query_params.get("job", "")
        st.session_state[key] = asked if asked in jobs else jobs[0]
    return key


def _joints(session: Session, job: str) -> None:
    """Draw the joints of a job, a handful at a time."""
    stored = session.log.joints(job)
    first = 0
    if len(stored) > AT_ONCE:
        starts = range(0, len(stored), AT_ONCE)
        first = st.selectbox(
            say_number("{number} joint; shown are", "{number} joints; shown are", len(stored)),
            starts,
            format_func=lambda start: _handful(stored, start),
            key=f"joints·{job}",
        )
    states = session.log.states_of(stored[first : first + AT_ONCE])
    wanting = [each for each in states if each.coverage.state is not CoverState.COVERED]
    if looked_at := wanting or states:
        remember_joint(looked_at[0].stored.id)
    for state in states:
        _joint(session, state)


def _handful(stored: list[StoredJoint], start: int) -> str:
    shown = stored[start : start + AT_ONCE]
    return say(
        "{first} to {last}: {names}",
        first=start + 1,
        last=start + len(shown),
        names=", ".join(each.joint.name for each in shown),
    )


def _joint(session: Session, state: JointState) -> None:
    joint, coverage, key = state.stored.joint, state.coverage, f"joint·{state.stored.id}"
    st.html(joint_card(joint, coverage, session))
    if joint.stack.adhesive_state is AdhesiveState.CURED:
        st.warning(say(CURED))
        if coverage.state is not CoverState.COVERED:
            recommendation.show(session, joint, key)
    if coverage.state is not CoverState.COVERED and st.button(
        say("Log a coupon for this joint"), key=f"{key}·log"
    ):
        go_to("coupon", session, joint=str(state.stored.id))
    _release(session, state)
    opened = st.expander(say("Why, and what the joint needs"), on_change="rerun", key=f"{key}·why")
    if not opened.open:
        return
    with opened:
        _evidence(session, coverage)
        _original_welds(session, joint)
        st.html(bullets((say(SPACING),)))
        if joint.stack.is_bonded:
            preparation.show(session, state.stored.id)
        usual_joint(session, joint, key)
        if state.release is None:
            correct_joint(session, state.stored, key)


def _release(session: Session, state: JointState) -> None:
    release = state.release
    if release is not None:
        words = _released(release)
        if state.is_released:
            st.success(plain(words))
            return
        again = say(
            "OPEN AGAIN. {released} No longer: {reasons}.",
            released=words,
            reasons="; ".join(state.reopened),
        )
        st.error(plain(again))
    if state.coverage.state is not CoverState.COVERED:
        return
    with st.popover(say("Release this joint")):
        st.html(bullets(map(say, AT_THE_VEHICLE)))
        if state.stored.joint.stack.adhesive_state is AdhesiveState.CURED:
            st.warning(say(CURED))
        if state.stored.joint.stack.is_bonded:
            found = findings(session.log.checks(state.stored.id))
            st.write(
                say(
                    "Checks before it is closed ({mark}): {summary}.",
                    mark=say(MARK),
                    summary=preparation.summary(found),
                )
            )
            st.html(bullets(f"{f.check.text} {f.text}" for f in found if not f.is_right))
        who = plain(session.who or say("nobody yet"))
        released = say("Released as **{who}**.", who=who)
        st.write(f"{say(OUTRANKS)} {released}")
        number = state.stored.id
        if st.button(
            say("Release it for welding"), key=f"release·{number}", type="primary"
        ) and attempt(lambda: session.log.release(number, session.who), say("Joint released.")):
            st.rerun()


def _released(release: Release) -> str:
    return say(
        "Released by {who}, {at:%d %b %H:%M}, on {coupons}.",
        who=release.by,
        at=release.at.astimezone(),
        coupons=", ".join(f"#{each.number}" for each in release.evidence),
    )


def _evidence(session: Session, coverage: Coverage) -> None:
    st.markdown(
        say(
            "**{passes} of {wanted}** passing coupons in a row.",
            passes=coverage.passes,
            wanted=coverage.wanted,
        )
    )
    for logged in coverage.evidence:
        st.markdown("- " + coupon_line(logged, session))
    if coverage.nearest is None:
        return
    st.markdown(say("Nearest coupon: {coupon}", coupon=coupon_line(coverage.nearest, session)))
    if coverage.differences:
        st.markdown(say("It does not count because:"))
        st.html(bullets(f"{d.condition.label}: {d.text}" for d in coverage.differences))


def _original_welds(session: Session, joint: Joint) -> None:
    needed = session.units.show("length", spacing_mm(joint.stack))
    source = say(
        "smallest pitch without shunt compensation {pitch} (inch table, from memory)", pitch=needed
    )
    if joint.welds and joint.pitch_mm:
        pitch = session.units.show("length", joint.pitch_mm)
        st.markdown(
            say(
                "Original: {welds} welds at {pitch}; {source}.",
                welds=joint.welds,
                pitch=pitch,
                source=source,
            )
        )
    else:
        st.markdown(source[0].upper() + source[1:] + ".")


def _cautions() -> None:
    with st.expander(say("Before the machine touches the vehicle"), expanded=True):
        st.html(bullets(map(say, AT_THE_VEHICLE)))


def _record(session: Session, job: str) -> None:
    fold = st.expander(say("Job record and labels"), on_change="rerun", key=f"record·fold·{job}")
    if fold.open:
        from advisor.pages.parts import record  # it takes 0.2 s to load, and few open it

        with fold:
            record.show(session, job)


def _close(session: Session, job: str) -> None:
    with st.popover(say("Close this job")):
        st.write(say("Its joints and coupons stay in the log; the job leaves this list."))
        if st.button(say("Close it"), key=f"close·{job}") and attempt(
            lambda: session.log.close_job(job, session.who), say("Job {job} closed.", job=job)
        ):
            st.rerun()
