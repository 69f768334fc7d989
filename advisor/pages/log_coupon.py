"""Log a coupon: what it is for, what was dialled in, what came out; verdict and next setting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.verdict import in_words
from advisor.errors import AdvisorError
from advisor.language import msg, say
from advisor.pages.parts.advice import advice, foretell, last_coupon, show_joint
from advisor.pages.parts.cards import (
    ONLY_COVERED,
    bullets,
    coupon_setting_card,
    joint_card,
    latest,
    passed_in_a_row,
    still_wanted,
    verdict_card,
)
from advisor.pages.parts.drafts import draft, forget
from advisor.pages.parts.entry import attempt, choice
from advisor.pages.parts.joint_choice import Target, ask_target
from advisor.pages.parts.photos import photo_part, photos_part
from advisor.pages.parts.plain import plain
from advisor.pages.parts.result_entry import Typed, ask_flags, ask_results, results_from
from advisor.pages.parts.revise import revise
from advisor.pages.parts.setting_entry import TypedSetting, ask_setting, setting_from
from advisor.pages.parts.ways import no_joint_yet
from advisor.pages.session import Session, go_to
from advisor.weld.cautions import AT_THE_MACHINE
from advisor.weld.failure import TestType
from advisor.weld.setting import Setting

_NEXT = msg("The next setting, for a coupon only.")


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Log a coupon"))
    no_joint_yet(session)
    target = ask_target(session)
    if target is None:
        return
    show_joint(session, target)
    _form(session, target)
    number = st.session_state.pop("just-logged", None)
    if number is not None:
        st.dialog(say("Verdict"))(_verdict)(session, target, number)
    _recent(session)


@dataclass(frozen=True)
class _Blank:
    """An empty form: kept until this tab's own entry succeeds, whatever others log meanwhile."""

    target: str
    serial: int
    setting: Setting | None
    said: Callable[[], str]


def _blank(session: Session, target: Target) -> _Blank:
    held: _Blank | None = st.session_state.get("blank")
    if held is None or held.target != target.key:
        setting, said = _first_setting(session, target)
        held = _new_blank(target, setting, said)
    return held


def _new_blank(target: Target, setting: Setting | None, said: Callable[[], str]) -> _Blank:
    serial = st.session_state.get("serial", 0) + 1
    st.session_state["serial"] = serial
    held = _Blank(target.key, serial, setting, said)
    st.session_state["blank"] = held
    return held


def _first_setting(session: Session, target: Target) -> tuple[Setting | None, Callable[[], str]]:
    """Return the setting to begin with, and what says where it comes from, in any language."""
    before = last_coupon(session, target)
    if before is not None:
        number = before.number
        return before.coupon.setting, lambda: say("Setting as on coupon #{number}.", number=number)
    try:
        found = advice(session, target).advice
    except AdvisorError:
        return None, lambda: _refusal(session, target)
    suggestion = found.suggestion
    return found.next_coupon.setting, lambda: say(
        "First coupon of this stack; start from {basis}.", basis=suggestion.basis
    )


def _refusal(session: Session, target: Target) -> str:
    try:
        advice(session, target)
    except AdvisorError as refusal:
        return str(refusal)
    return ""


def _form(session: Session, target: Target) -> None:
    blank = _blank(session, target)
    form = f"coupon·{target.key}"
    with st.container(border=True), draft(session, form, str(blank.serial)) as key:
        change = say("Change what you changed.")
        st.markdown(f"**{plain(_what(target, session))}** · {plain(blank.said())} {change}")
        dialled = ask_setting(session.units, target.machine.calibration, key, blank.setting)
        results = ask_results(session.units, target.stack, key)
        rest = _ask_rest(key, session.log.welds_since_dressing_hint(target.machine.name))
        place = st.container()
        with st.expander(say("Eyes, magnetic field, fume, hands")):
            st.html(bullets(map(say, AT_THE_MACHINE)))
        submitted = st.button(
            say("Judge and keep"), type="primary", width="stretch", key=f"keep-{key}"
        )
    if submitted and _keep(session, target, dialled, results, rest, place):
        forget(session, form)
        st.rerun()


def _what(target: Target, session: Session) -> str:
    bonds = " / ".join(str(bond) for bond in target.stack.bonds)
    name = target.joint.name if target.joint else target.stack.title(session.thickness)
    return f"{name} ({bonds})"


@dataclass(frozen=True)
class _Rest:
    flags: dict[str, bool]
    tested: bool
    test: TestType
    made: datetime
    earlier: bool
    welds: int | None
    notes: str


def _ask_rest(key: str, counted: int | None) -> _Rest:
    flags = ask_flags(key)
    with st.expander(say("Not tested yet, test type, earlier date, welds on the caps, note")):
        later = st.checkbox(say("Not tested yet: keep it, judge it later"), key=f"{key}·later")
        test = choice(say("Test"), list(TestType), f"{key}·test", TestType.PEEL)
        made = st.datetime_input(say("Welded earlier"), value=None, key=f"{key}·made")
        welds = st.number_input(
            say("Welds since dressing"),
            value=None,
            step=1,
            # The log knows of coupons only, not of welds on vehicles.
            placeholder=say("at least {coupons}, by the log", coupons=counted) if counted else None,
            key=f"{key}·welds",
        )
        notes = st.text_input(say("Note"), key=f"{key}·notes")
    moment = made.astimezone() if made else datetime.now(UTC)
    return _Rest(flags, not later, test or TestType.PEEL, moment, made is not None, welds, notes)


def _keep(
    session: Session,
    target: Target,
    dialled: TypedSetting,
    results: list[Typed],
    rest: _Rest,
    place: DeltaGenerator,
) -> bool:
    try:
        coupon = Coupon(
            made_at=rest.made,
            welder=session.who,
            machine=target.machine.name,
            electrode=target.caps,
            stack=target.stack,
            setting=setting_from(dialled),
            results=results_from(results, tested=rest.tested),
            test=rest.test,
            job=target.joint.job if target.joint else "",
            welds_since_dressing=rest.welds,
            notes=rest.notes,
            expulsion=rest.flags["expulsion"],
            edge_weld=rest.flags["edge_weld"],
            cracks=rest.flags["cracks"],
        )
        # One that was welded earlier would be foretold from coupons that came after it.
        said = None if rest.earlier else foretell(session, target, coupon.setting)
        logged = session.log.add_coupon(coupon, session.who, foretold=said)
    except AdvisorError as error:
        place.error(plain(error))
        return False
    st.session_state.pop("blank")
    st.session_state["just-logged"] = logged.number
    return True


def _verdict(session: Session, target: Target, number: int) -> None:
    """Show the verdict over the page, wherever it is scrolled to, and what to weld next."""
    logged = session.log.coupon(number)
    verdict = in_words(logged.coupon, session.log.rules().judging, logged.verdict)
    st.html(verdict_card(verdict, say("Coupon #{number}", number=number)))
    coverage = session.log.coverage(target.joint) if target.joint else None
    again = False
    if target.joint and coverage and coverage.state is CoverState.COVERED:
        _to_the_joint(session, target.joint, coverage)
    else:
        if coverage is not None:
            st.markdown(f"**{plain(coverage.headline)}**: {plain(coverage.detail)}")
        again = _next(session, target, logged, coverage)
    loud: Literal["primary", "secondary"] = "primary" if again else "secondary"
    if st.button(say("Same setting again"), type=loud, width="stretch"):
        st.rerun()
    photo_part(session, number)
    if st.button(say("Undo: this entry was wrong"), width="stretch") and attempt(
        lambda: session.log.undo_coupon(number, session.who),
        say("Coupon #{number} undone; its row stays in the log.", number=number),
    ):
        st.rerun()


def _to_the_joint(session: Session, joint: Joint, coverage: Coverage) -> None:
    """Show the joint that is covered now, with its setting, and lead to where it is released."""
    st.html(joint_card(joint, coverage, session))
    if st.button(say("To the joint: release it"), type="primary", width="stretch"):
        go_to("before", session, job=joint.job)


def _next(
    session: Session, target: Target, logged: LoggedCoupon, coverage: Coverage | None
) -> bool:
    """Say what to weld next; return whether it is the same setting again."""
    try:
        following = advice(session, target).advice.next_coupon
    except AdvisorError as refusal:
        st.info(plain(refusal))
        return False
    why = still_wanted(following, coverage) or following.reason
    if following.stop:
        proven = say("Proven: {passed}.", passed=passed_in_a_row(following))
        st.markdown(f"**{proven}** {say(ONLY_COVERED)}")
    if following.setting.same_as(logged.coupon.setting):
        again = why if following.stop else say("Next: the same setting again. {why}", why=why)
        # A run that has begun was asked to go on already.
        if following.stop or not (coverage and coverage.passes):
            st.markdown(plain(again))
        return not following.stop
    name = target.machine.name
    st.html(coupon_setting_card(following.setting, session, name, [why]))
    if st.button(say("Weld the next coupon with this setting"), type="primary", width="stretch"):
        _new_blank(target, following.setting, lambda: say(_NEXT))
        st.rerun()
    return False


def _recent(session: Session) -> None:
    recent = session.log.recent_coupons(limit=5)
    if not recent:
        return
    st.subheader(say("Latest coupons"))
    st.html(latest(recent, session))
    with st.expander(say("Correct or void a coupon")):
        revise(session, recent)
    photos_part(session, recent)
