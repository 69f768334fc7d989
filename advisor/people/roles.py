"""The three roles of a shop and what each of them may do.

The rules stand here once; the log asks them before it writes anything.
"""

from __future__ import annotations

from enum import Enum

from advisor.errors import RoleError
from advisor.language import msg, say
from advisor.weld.words import TradeWord


class Role(TradeWord):
    """What a person is in the shop."""

    WELDER = "welder", msg("welder")
    LEAD = "lead", msg("lead")
    TRAINER = "trainer", msg("trainer")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("role")


class Act(Enum):
    """What can be done in the log, in the words a refusal uses."""

    OWN = msg("keeping one's own units, drafts and PIN")
    BENCH = msg("writing at the bench")
    CORRECT_ANOTHERS = msg("correcting a coupon that somebody else welded and wrote down")
    RELEASE_ANOTHERS = msg("releasing a joint on coupons that somebody else welded")
    VOID = msg("voiding a coupon")
    RULES = msg("changing the shop's rules")
    MACHINES = msg("entering or changing a machine")
    ADHESIVES = msg("entering or changing an adhesive")
    PEOPLE = msg("entering people, their roles and PINs")
    WHOLE_SHOP = msg("bringing in a file with a whole shop")
    TRUE_WINDOW = msg("looking behind the practice bench")


_BENCH = frozenset({Act.OWN, Act.BENCH})
MAY: dict[Role, frozenset[Act]] = {
    Role.WELDER: _BENCH,
    Role.LEAD: frozenset(Act),
    Role.TRAINER: frozenset({Act.OWN, Act.TRUE_WINDOW}),
}


def may(role: Role, act: Act) -> bool:
    """Whether a role may do something in the shop's own log.

    Parameters
    ----------
    role : Role
        A role in this shop.
    act : Act
        What is to be done.
    """
    return act in MAY[role]


def check(name: str, role: Role, act: Act) -> None:
    """Refuse what a role may not do.

    Parameters
    ----------
    name : str
        Who wants to do it, for the sentence.
    role : Role
        Their role in this shop.
    act : Act
        What they want to do.

    Raises
    ------
    RoleError
        They may not; the text says who may.
    """
    if may(role, act):
        return
    if role is Role.TRAINER:
        raise RoleError(
            say(
                "{act} is not for a trainer ({name}) in the shop's own log; open a practice copy "
                "on the page Class, everything is allowed there",
                act=say(act.value),
                name=name,
            )
        )
    raise RoleError(
        say(
            "{act} takes a lead; {name} is a {role}: ask a lead to do it",
            act=say(act.value),
            name=name,
            role=role.label,
        )
    )
