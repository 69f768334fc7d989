"""A look round the demo shop: a card on each page says what to do there and what to notice.

One loop that a technician, a lead and a trainer all know: a joint without its test, a setting for
a coupon, the verdict, the release, what needs the lead, a lesson. Nothing waits for anything: the
next step is always open, and a step that was done says so.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from html import escape

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.errors import RecordError
from advisor.language import msg, say
from advisor.pages.parts.plain import closed
from advisor.pages.session import DEMO, Session, aside, change_person, enter, go_to
from advisor.people.roles import Role
from advisor.store.demo_tour import joint_to_prove, newest_number

_KEPT, _BEGINS, _ADDRESS = "tour", "tour begins", "tour"
_WRITTEN = re.compile(r"([0-9]{1,2})-([0-9]{1,9})-([0-9]{1,9})")
#: How the keys of the fields begin that ask for a job and for a joint.
_ASKED_FOR = ("job·", "target·")
#: Diameters that are offered to type in, above the minimum of the joint. Invented. [mm]
_ABOVE_MM = (0.3, 0.7)


@dataclass(frozen=True)
class Tour:
    """Where somebody is on the tour.

    Parameters
    ----------
    step : int
        Number of the step, from 1.
    joint : int
        Number of the joint it is about.
    since : int
        Newest coupon of the person at the bench when it began.
    """

    step: int
    joint: int
    since: int

    def __str__(self) -> str:
        """Return it as it stands in the address."""
        return f"{self.step}-{self.joint}-{self.since}"

    @classmethod
    def read(cls, text: str) -> Tour | None:
        """Return the tour of an address; None where it names none."""
        found = _WRITTEN.fullmatch(text)
        if found is None or not 1 <= int(found[1]) <= len(STEPS):
            return None
        return cls(*map(int, found.groups()))


_Done = Callable[[Session, Tour], str]


def _never(_session: Session, _tour: Tour) -> str:
    return ""


def _logged(session: Session, tour: Tour) -> str:
    number = newest_number(session.log, session.who)
    return say("Done: coupon #{number} is judged.", number=number) if number > tour.since else ""


def _released(session: Session, tour: Tour) -> str:
    (state,) = session.log.states_of([session.log.joint(tour.joint)])
    return say("Done: the joint is released.") if state.is_released else ""


def _revealed(_session: Session, _tour: Tour) -> str:
    shown = (key for key in st.session_state if str(key).startswith("class·reveal·"))
    return say("Done: a lesson is revealed.") if any(st.session_state[k] for k in shown) else ""


@dataclass(frozen=True)
class Step:
    """One step: its page and the page's title, what to do, what to notice, and whether it is done.

    `title`, `do` and `see` are messages for `say`.
    """

    page: str
    title: str
    do: str
    see: str
    done: _Done = _never


STEPS = (
    Step(
        "before",
        msg("Before welding"),
        msg(
            "{job}, “{joint}”, is to be welded. Find its card: it says that the bonded-joint test "
            "is missing."
        ),
        msg(
            "So no setting stands on it: only coupons with the same sheets and the same adhesive "
            "can prove one."
        ),
    ),
    Step(
        "setting",
        msg("Next setting"),
        msg(
            "Read what to dial in for the next coupon, the chance of a sound weld, and on the bar "
            "the size to expect and its range."
        ),
        msg("The yellow mark says it: for a coupon only, never for the vehicle."),
    ),
    Step(
        "coupon",
        msg("Log a coupon"),
        msg(
            "You welded and peeled it: type {small} and {large}, choose button pulled, press Judge "
            "and keep. Once more, if the joint is not covered yet."
        ),
        msg(
            "The verdict says why: size against minimum. Type smaller diameters to see a coupon "
            "fail."
        ),
        _logged,
    ),
    Step(
        "before",
        msg("Before welding"),
        msg(
            "“{joint}” is covered now: the setting that its coupons proved stands on its card. "
            "Press Release this joint."
        ),
        msg(
            "Still missing? Log one more passing coupon. When a coupon of a release is voided "
            "later, the joint opens again."
        ),
        _released,
    ),
    Step(
        "review",
        msg("Review"),
        msg("The lead's page: each card says what needs attention and why, in numbers."),
        msg(
            "What few coupons cannot tell from luck is not held against anybody: under Pass rates "
            "it says too few."
        ),
    ),
    Step(
        "class",
        msg("Class"),
        msg("Choose a lesson, let the class guess, then switch on Reveal."),
        msg("The inside of the weld is calculated, and the page says from what."),
        _revealed,
    ),
)


def begin() -> None:
    """Go to the demo shop and let the tour begin there."""
    enter(DEMO)
    _begin_anew()


def _begin_anew() -> None:
    """Let the tour begin when the page is drawn again."""
    st.session_state[_BEGINS] = True
    st.rerun()


def offer() -> None:
    """Draw the button that begins the tour, where none is under way."""
    if _kept() is None and st.button(say("Show me round"), key="tour-offer"):
        _begin_anew()


def show(session: Session, page: str) -> None:
    """Draw the card of the step that somebody is at; nothing outside of the demo shop.

    Parameters
    ----------
    session : Session
        The demo shop, and who looks round in it.
    page : str
        Address of the page that is drawn.
    """
    if aside() != DEMO:
        return
    if st.session_state.pop(_BEGINS, False):
        _begin(session)
    found = _kept()
    if found is None:
        return
    if not session.who:  # an address that was handed on
        change_person(_somebody(session))
        st.rerun()
    try:
        joint = session.log.joint(found.joint).joint
    except RecordError:  # the address is of another demo shop
        _end()
        return
    _keep(found)
    with st.container(key="tour"):
        _card(session, found, joint, page)


def _begin(session: Session) -> None:
    """Give the visitor a name of the invented shop, a joint to work on, and the first step."""
    who = session.who or _somebody(session)
    if who != session.who:
        change_person(who)
    tour = Tour(1, joint_to_prove(session.log, who), newest_number(session.log, who))
    _go(replace(session, who=who), tour)


def _somebody(session: Session) -> str:
    """Return a lead of the shop: a lead may do everything that the tour asks for."""
    return next(each.name for each in session.log.people() if each.role is Role.LEAD)


def _kept() -> Tour | None:
    kept: Tour | None = st.session_state.get(_KEPT)
    return kept or Tour.read(st.query_params.get(_ADDRESS, ""))


def _keep(tour: Tour) -> None:
    """Keep where somebody is, in the address too, so that a reload comes back to it."""
    st.session_state[_KEPT] = tour
    if st.query_params.get(_ADDRESS) != str(tour):
        st.query_params[_ADDRESS] = str(tour)


def _end() -> None:
    st.session_state.pop(_KEPT, None)
    st.query_params.pop(_ADDRESS, None)


def _card(session: Session, tour: Tour, joint: Joint, page: str) -> None:
    step = STEPS[tour.step - 1]
    head = say(
        "Step {number} of {all} · {page}", number=tour.step, all=len(STEPS), page=say(step.title)
    )
    here = page == step.page
    told = _told(session, tour, step, joint) if here else ""
    st.html(f'<div class="tour"><div class="tour-step">{escape(head)}</div>{told}</div>')
    with st.container(horizontal=True, vertical_alignment="center", key="tour-ways"):
        _buttons(session, tour, here=here)


def _told(session: Session, tour: Tour, step: Step, joint: Joint) -> str:
    """Return what to do and what to notice, and that it is done, as HTML."""
    least = session.log.rules().judging.size.minimum_mm(joint.stack, 0)
    small, large = (session.units.show("diameter", least + above) for above in _ABOVE_MM)
    words = {"job": closed(joint.job), "joint": closed(joint.name), "small": small, "large": large}
    do, see = (escape(say(text, **words)) for text in (step.do, step.see))
    done = step.done(session, tour)
    mark = f'<p class="tour-done" role="status">✓ {escape(done)}</p>' if done else ""
    return f'<p class="tour-do">{do}</p><p>{see}</p>{mark}'


def _buttons(session: Session, tour: Tour, *, here: bool) -> None:
    if not here:
        words = say("Go to {page}", page=say(STEPS[tour.step - 1].title))
        if st.button(words, type="primary"):
            _go(session, tour)
    elif tour.step < len(STEPS):
        words = say("Next: {page}", page=say(STEPS[tour.step].title))
        if st.button(words, type="primary"):
            _go(session, replace(tour, step=tour.step + 1))
    elif st.button(say("On to your own shop"), type="primary"):
        enter("")
        go_to("before", replace(session, who=""))
    if st.button(say("End the tour"), type="tertiary"):
        _end()
        st.rerun()


def _go(session: Session, tour: Tour) -> None:
    """Go to the page of a step; pages that ask for a job or a joint begin with the tour's."""
    _keep(tour)
    for key in list(st.session_state):
        if str(key).startswith(_ASKED_FOR):
            del st.session_state[key]
    page, joint = STEPS[tour.step - 1].page, session.log.joint(tour.joint).joint
    address = {
        "before": {"job": joint.job},
        "setting": {"joint": str(tour.joint)},
        "coupon": {"joint": str(tour.joint)},
    }
    go_to(page, session, **address.get(page, {}))
