"""Give somebody a PIN, from the machine that keeps the log; this unlocks the name as well."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from getpass import getpass

from advisor.errors import InputError, RecordError
from advisor.language import say
from advisor.people.pin import check_pin
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import Log, open_log
from advisor.store.rows import name_key

#: What the change log names as the author.
BY = "the server's command line"


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("name", metavar="NAME", help="whose PIN it is to be")
    parser.add_argument(
        "--role", choices=[role.value for role in Role], help="what the person is to be in the shop"
    )
    parser.add_argument(
        "--add",
        action="store_true",
        help="enter the name when it is new, and again when its person had left",
    )


def run(chosen: argparse.Namespace) -> int:
    """Ask for the PIN twice and set it."""
    with closing(open_log().used_by(Trust.OPERATOR)) as log:
        _check_known(log, chosen.name, adds=chosen.add)
        pin = _asked()
        if chosen.add:
            _enter(log, chosen.name)
        if chosen.role:
            log.set_role(chosen.name, Role.of(chosen.role), BY)
        log.set_pin(chosen.name, pin, BY)
        person = next(p for p in log.people() if name_key(p.name) == name_key(chosen.name))
        print(
            say(
                "the PIN of {name} ({role}) is set; earlier visits have ended",
                name=person.name,
                role=person.role.label,
            )
        )
        return 0


def _check_known(log: Log, name: str, *, adds: bool) -> None:
    here = [person.name for person in log.people() if not person.has_left]
    if not adds and name_key(name) not in map(name_key, here):
        raise RecordError(
            say(
                "nobody here is called {name!r}; known: {known} (--add enters the name)",
                name=name,
                known=", ".join(here) or say("none yet"),
            )
        )


def _asked() -> str:
    """Return a PIN that was typed twice alike and is good enough."""
    pin = _typed(say("PIN: "))
    check_pin(pin)
    if _typed(say("PIN again: ")) != pin:
        raise InputError(
            say("the two PINs differ, so nothing was changed; type the same one twice")
        )
    return pin


def _typed(prompt: str) -> str:
    """Return a line that nobody sees; from a pipe where there is no keyboard."""
    return getpass(prompt) if sys.stdin.isatty() else sys.stdin.readline().rstrip("\r\n")


def _enter(log: Log, name: str) -> None:
    people = {name_key(person.name): person for person in log.people()}
    found = people.get(name_key(name))
    if found is None:
        log.add_welder(name, BY)
    elif found.has_left:
        log.come_back(name, BY)
