"""The frame around every page: navigation, who is at the bench, demo ribbon, who outranks us."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from threading import Event
from typing import Any

import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import LANGUAGES, language, msg, say
from advisor.pages import spoken
from advisor.pages.door import at_the_door, signed_in
from advisor.pages.parts import projector, tour
from advisor.pages.parts.cards import note
from advisor.pages.parts.clocks import strip
from advisor.pages.parts.look import dress_page
from advisor.pages.parts.plain import plain
from advisor.pages.parts.ribbon import ribbon
from advisor.pages.parts.units_choice import CHOICES, UnitChoice
from advisor.pages.session import (
    BENCH,
    Session,
    aside,
    change_language,
    change_person,
    change_units,
    current,
    go_to,
)
from advisor.pages.visit import Visit
from advisor.units import label
from advisor.weld.cautions import OUTRANKS

#: Address, title and module of each page, in the order of a technician's day. A module is loaded
#: when its page is first drawn, or beforehand by `load_all`.
PAGES = {
    "before": (msg("Before welding"), "before_welding"),
    "coupon": (msg("Log a coupon"), "log_coupon"),
    "setting": (msg("Next setting"), "next_setting"),
    "layout": (msg("Weld layout"), "weld_layout"),
    "review": (msg("Review"), "review.page"),
    "class": (msg("Class"), "classroom.page"),
    "shop": (msg("Shop set-up"), "shop_setup"),
    "files": (msg("Files"), "files"),
}
_WELCOME = "welcome"
#: Set once a page was drawn.
first_drawn = Event()


#: Pages a technician needs all day, with short words for the foot of a phone.
DAILY = {"before": msg("Joints"), "coupon": msg("Coupon"), "setting": msg("Setting")}

NOBODY = msg("Who is at the bench?")

#: What the bench is called on the page Class, and so in its address.
BENCH_VIEW = msg("Practice bench")


def run(first: str = "before") -> None:
    """Draw the app.

    Parameters
    ----------
    first : str
        Address of the page that opens when the address names none.
    """
    spoken.settle()
    st.set_page_config(page_title=say("Weld coupons"), layout="centered")
    visit, closed = at_the_door()
    pages = {
        name: st.Page(
            closed or _framed(name, visit), title=say(title), url_path=name, default=name == first
        )
        for name, (title, _) in PAGES.items()
    }
    chosen = st.navigation(list(pages.values()), position="hidden" if closed else "top")
    chosen.run()
    if closed:
        return
    # On a phone the navigation folds away; the pages of every day stay in reach of a thumb.
    with st.container(key="daily", horizontal=True):
        for name, words in DAILY.items():
            label = say(words)
            st.page_link(pages[name], label=f"**{label}**" if pages[name] is chosen else label)


def _module(name: str) -> Any:
    return import_module(f"advisor.pages.{name}")


def load_all() -> None:
    """Load what draws the pages, so that no page waits for it when it is first opened."""
    for _, module in PAGES.values():
        _module(module)


def _framed(name: str, visit: Visit | None) -> Callable[[], None]:
    def page() -> None:
        dress_page()
        before = language()
        try:
            session = current(visit)
        except AdvisorError as error:
            st.error(plain(error))
            return
        if language() != before:
            st.rerun()  # the navigation is drawn already, in the other one
        empty = session.log.is_empty()
        _head(session, name, empty=empty)
        _module(_WELCOME if empty and name != "files" else PAGES[name][1]).show(session)
        st.html(note(say(OUTRANKS)))
        first_drawn.set()

    page.__name__ = name
    return page


def _head(session: Session, page: str, *, empty: bool) -> None:
    place = aside()
    if place:
        ribbon(place)
        tour.show(session, page)
    away = place == BENCH and st.query_params.get("view") != BENCH_VIEW
    if away and st.button(say("To the practice bench"), width="stretch"):
        go_to("class", session, view=BENCH_VIEW)
    with st.container(horizontal=True, vertical_alignment="center", key="head"):
        if not empty or session.visit:
            with st.container(key="who", width="content"):
                _person(session)
        _reading(session)
        projector.switch()
    if not empty:
        strip(session)
    said = st.session_state.pop("said", None)
    if said:
        st.toast(plain(said))


def _person(session: Session) -> None:
    if session.visit is None:
        _menu(session)
        return
    with st.popover(plain(session.who) or say(NOBODY)):
        if session.log.is_demo:
            _picker(session)
        signed_in(session.visit)


def _menu(session: Session) -> None:
    """Offer everybody's name in a menu, which arrow keys reach and a touch closes."""
    names = session.log.welders()
    if not names:
        st.caption(say("Names are added under Shop set-up."))
        return

    def words(name: str) -> str:
        return f"{plain(name)} ✓" if name == session.who else plain(name)

    label = plain(session.who) or say(NOBODY)
    chosen = st.menu_button(label, names, format_func=words, key="person")
    if chosen and chosen != session.who:
        change_person(chosen)
        st.rerun()


def _picker(session: Session) -> None:
    names = session.log.welders()
    chosen = st.radio(
        say("At the bench"),
        names,
        index=names.index(session.who) if session.who in names else None,
        format_func=plain,
    )
    if chosen and chosen != session.who:
        change_person(chosen)
        st.rerun()
    st.caption(say("Names are added under Shop set-up."))


def _reading(session: Session) -> None:
    """Offer how this person reads: units, and the language where there is more than one."""
    languages = spoken.offered()
    words = say("Units · {language}", language=language().upper())
    with st.popover(words if len(languages) > 1 else say("Units")):
        if len(languages) > 1:
            _language(session, languages)
        _units(session)


def _language(session: Session, languages: list[str]) -> None:
    chosen = st.segmented_control(
        say("Language"),
        languages,
        default=language(),
        format_func=lambda code: LANGUAGES[code],
        key=f"language·{session.who}",
        required=True,
    )
    if chosen and chosen != language():
        change_language(session, chosen)
        st.rerun()


def _units(session: Session) -> None:
    titles = {
        "length": say("Lengths"),
        "current": say("Current"),
        "time": say("Times"),
        "force": say("Force"),
    }
    chosen = {}
    for name, options in CHOICES.items():
        now = session.units.chosen[name]
        picked = st.segmented_control(
            titles[name],
            options,
            default=now,
            format_func=label,
            key=f"unit·{name}·{session.who}",
            required=True,
        )
        chosen[name] = picked or now
    st.caption(
        say(
            "Cycles follow the machine's mains; bar and psi need its force calibration "
            "(Shop set-up). Where that is missing, ms and kN are shown."
        )
    )
    if chosen != dict(session.units.chosen):
        change_units(session, UnitChoice(chosen))
        st.rerun()
