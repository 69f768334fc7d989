"""The three roles of a shop and what each of them may do.

The rules stand here once; the log asks them before it writes anything.
"""

from __future__ import annotations

from enum import Enum

from advisor.errors import RoleError
from advisor.weld.words import TradeWord


class Role(TradeWord):
    """What a person is in the shop."""

    WELDER = "welder", "welder"
    LEAD = "lead", "lead"
    TRAINER = "trainer", "trainer"

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return "role"


class Act(Enum):
    """What can be done in the log, in the words a refusal uses."""

    OWN = "keeping one's own units, drafts and PIN"
    BENCH = "writing at the bench"
    CORRECT_ANOTHERS = "correcting a coupon that somebody else welded and wrote down"
    RELEASE_ANOTHERS = "releasing a joint on coupons that somebody else welded"
    VOID = "voiding a coupon"
    RULES = "changing the shop's rules"
    MACHINES = "entering or changing a machine"
    ADHESIVES = "entering or changing an adhesive"
    PEOPLE = "entering people, their roles and PINs"
    WHOLE_SHOP = "bringing in a file with a whole shop"


_BENCH = frozenset({Act.OWN, Act.BENCH})
MAY: dict[Role, frozenset[Act]] = {
    Role.WELDER: _BENCH,
    Role.LEAD: frozenset(Act),
    Role.TRAINER: frozenset({Act.OWN}),
}


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
    if act in MAY[role]:
        return
    if role is Role.TRAINER:
        raise RoleError(
            f"{act.value} is not for a trainer ({name}) in the shop's own log; open a practice "
            "copy on the page Class, everything is allowed there"
        )
    raise RoleError(f"{act.value} takes a lead; {name} is a {role.label}: ask a lead to do it")
