"""People of the shop: their roles, their PINs, and who has left."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts.entry import attempt, pick
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session, change_person
from advisor.people.roles import Role
from advisor.store.people import Person

#: A message for `say`.
_MAY = msg(
    "Only a lead voids coupons, releases a joint on coupons that somebody else welded, corrects "
    "somebody else's coupon, and changes rules, machines, adhesives and people. A trainer looks on "
    "here and works in a practice copy."
)


def people_tab(session: Session) -> None:
    """Draw the people of the shop."""
    people = session.log.people()
    st.caption(say(_MAY))
    for person in people:
        st.markdown(f"- **{plain(person.name)}**: {plain(_words(person))}")
    if len(people) < 2:
        st.info(
            say(
                "Add everybody who welds: each coupon keeps the name of who welded it, and Review "
                "tells by it who needs help."
            )
        )
    _add(session)
    if people:
        _change(session, people)


def _words(person: Person) -> str:
    if person.has_left:
        return say("has left; coupons keep the name")
    said = [person.role.label, say("has a PIN") if person.has_pin else say("no PIN")]
    if person.is_locked:
        said.append(say("LOCKED after wrong PINs"))
    return ", ".join([*said, *([person.email] if person.email else [])])


def _add(session: Session) -> None:
    with st.form("person", clear_on_submit=False):
        left, right = st.columns(2)
        with left:
            name = st.text_input(say("Name of a new person"))
        with right:
            role = pick(say("Role"), list(Role), "person·role", Role.WELDER)
        added = st.form_submit_button(say("Add"))
    if added and attempt(
        lambda: session.log.add_welder(name, session.who or name, role),
        say("{name} added.", name=name.strip()),
    ):
        if not session.who:
            change_person(name.strip())
        st.rerun()


def _change(session: Session, people: list[Person]) -> None:
    with st.expander(say("Role, PIN, leaving")):
        name = st.selectbox(say("Person"), [person.name for person in people], key="person·who")
        person = next(each for each in people if each.name == name)
        if person.has_left:
            _button(session, say("Back in the shop"), session.log.come_back, person)
            return
        _role(session, person)
        _pin(session, person)
        if person.is_locked:
            _button(session, say("Unlock"), session.log.unlock, person)
        words = say("{name} has left the shop", name=plain(person.name))
        _button(session, words, session.log.leave, person)


def _role(session: Session, person: Person) -> None:
    role = pick(say("Role now"), list(Role), f"person·{person.name}·role", person.role)
    words = say("Make {name} a {role}", name=plain(person.name), role=role.label)
    if role is not person.role and st.button(words):
        log, who = session.log, session.who
        if attempt(lambda: log.set_role(person.name, role, who), f"{person.name}: {role.label}."):
            st.rerun()


def _pin(session: Session, person: Person) -> None:
    with st.form(f"pin·{person.name}", clear_on_submit=True):
        pin = st.text_input(say("New PIN, 6 to 12 digits"), type="password")
        again = st.text_input(say("The same PIN once more"), type="password")
        pressed = st.form_submit_button(say("Set the PIN"))
    if not pressed:
        return
    if pin != again:
        st.error(say("The two PINs differ; nothing was changed. Type the same one twice."))
        return
    if attempt(
        lambda: session.log.set_pin(person.name, pin, session.who),
        say("{name} signs in with the new PIN from now on.", name=person.name),
    ):
        st.rerun()


def _button(session: Session, words: str, act: Callable[[str, str], None], person: Person) -> None:
    done = say("{name}: done.", name=person.name)
    if st.button(words) and attempt(lambda: act(person.name, session.who), done):
        st.rerun()
