"""Open the app in a browser; the command that runs when none is named."""

from __future__ import annotations

import argparse
import os
import socket
import sys
import tomllib
from contextlib import closing
from pathlib import Path

from advisor.commands.speech import chosen_language
from advisor.errors import InputError
from advisor.language import ENGLISH, msg, say, speaking
from advisor.resources import home

_OPEN_WIRE = msg(
    "Names, PINs and coupons cross the network unencrypted. Where you do not know every device on "
    "it, put a proxy with TLS before this server and start it with --behind-proxy."
)
#: Folders where Streamlit looks for its secrets.
_PLACES = (home(), Path.cwd(), Path.home())


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("--port", type=int, default=8501, help="port on this machine (8501)")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
    parser.add_argument(
        "--listen",
        metavar="ADDRESS",
        help="address of this machine at which other devices reach it, 0.0.0.0 for all of them; "
        "everybody signs in then",
    )
    parser.add_argument(
        "--host",
        action="append",
        default=[],
        metavar="NAME",
        help="a name by which browsers ask for it, beside that address (may be repeated)",
    )
    parser.add_argument(
        "--behind-proxy",
        action="store_true",
        help="every request comes through a proxy of the shop: everybody signs in, and what the "
        "proxy says of device and encryption is believed",
    )


def run(chosen: argparse.Namespace) -> int:
    """Serve until the program is stopped.

    Raises
    ------
    InputError
        This machine has no such address.
    RoleError
        Others would reach the log, and no lead has a PIN; the text says how one gets it.
    """
    from streamlit.web import cli

    from advisor.pages.listening import PROXY

    # Only here: whoever reads a page chooses the language there.
    with speaking(chosen_language() or ENGLISH):
        _check(chosen)
    if chosen.behind_proxy:
        os.environ[PROXY] = "1"
    # What a proxy adds is read by the gate alone, and only when it was told to.
    os.environ["FORWARDED_ALLOW_IPS"] = ""
    cli.main(["run", str(home() / "app.py"), *_options(chosen)], standalone_mode=False)
    return 0


def _check(chosen: argparse.Namespace) -> None:
    """Refuse what cannot be served or what nobody could sign in to; warn of an open wire."""
    from advisor.pages.listening import THIS_MACHINE

    if chosen.listen:
        _check_address(chosen.listen)
    if chosen.behind_proxy or chosen.listen not in (None, *THIS_MACHINE):
        _check_people()
        if not chosen.behind_proxy:
            print(say(_OPEN_WIRE), file=sys.stderr)


def _options(chosen: argparse.Namespace) -> list[str]:
    """Return Streamlit's options."""
    from advisor.pages.listening import THIS_MACHINE, names_of

    options = [
        f"--server.port={chosen.port}",
        f"--server.headless={'true' if chosen.no_browser else 'false'}",
    ]
    names = [*chosen.host, *(names_of(chosen.listen) if chosen.listen else THIS_MACHINE)]
    if chosen.listen:
        options += [f"--server.address={chosen.listen}", f"--browser.serverAddress={names[0]}"]
    return [*options, *(f"--server.allowedHosts={name}" for name in names)]


def _check_address(address: str) -> None:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        with socket.socket(family) as probe:
            probe.bind((address, 0))
    except OSError as error:
        raise InputError(
            say(
                "this machine cannot listen at {address} ({problem}); give one of its own "
                "addresses, or 0.0.0.0 for all of them",
                address=address,
                problem=error.strerror or error,
            )
        ) from error


def _check_people() -> None:
    """Refuse to listen while nobody could let people in; a sign-in service lets them in itself."""
    from advisor.store.log import open_log

    if any(map(_names_service, _PLACES)):
        return
    with closing(open_log()) as log:
        log.check_may_listen()


def _names_service(folder: Path) -> bool:
    try:
        with open(folder / ".streamlit" / "secrets.toml", "rb") as file:
            return "auth" in tomllib.load(file)
    except FileNotFoundError:
        return False
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise InputError(
            say(
                "{file} cannot be read: {problem}",
                file=folder / ".streamlit" / "secrets.toml",
                problem=error,
            )
        ) from error
