"""Where the server listens, under which names it is asked for, and whether a proxy is before it."""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Iterable, Sequence
from urllib.parse import urlsplit

import streamlit as st

#: Addresses that only programs on this machine reach; any other is open to devices around it.
THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104  (recognised here, bound only when asked for)
#: Environment variable that says that all requests come through a proxy of the shop.
PROXY = "ADVISOR_BEHIND_PROXY"
#: What a proxy adds; a browser that connects directly sends none of them.
_FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto")


def uses_openid() -> bool:
    """Whether the shop's own sign-in service says who comes: secrets.toml has a part [auth]."""
    return st.secrets.load_if_toml_exists() and "auth" in st.secrets


def is_behind_proxy() -> bool:
    """Whether what a proxy adds to a request is believed."""
    return os.environ.get(PROXY) == "1"


def is_guarded() -> bool:
    """Whether everybody has to sign in: others than this machine may reach the server.

    An address that is not set means every interface.
    """
    address = st.get_option("server.address")
    return address not in THIS_MACHINE or is_behind_proxy() or uses_openid()


def is_this_machine(address: str | None) -> bool:
    """Whether a connection that came in at this address of ours began on this machine."""
    try:
        return ipaddress.ip_address(address or "").is_loopback
    except ValueError:  # not a network's: a socket in a folder, which is a proxy's way in
        return False


def is_forwarded(headers: Iterable[str]) -> bool:
    """Whether a proxy has handed a request on, told by the names of its headers."""
    return any(name.lower() in _FORWARDED for name in headers)


def names_served() -> Sequence[str]:
    """Return the host names of `server.allowedHosts`; without any, those of this machine."""
    names: Sequence[str] = st.get_option("server.allowedHosts")
    return names or THIS_MACHINE


def is_served(host: str) -> bool:
    """Whether a request that names this host (with or without a port) is for this server."""
    try:
        parts = urlsplit(f"//{host}")
        name, _ = parts.hostname, parts.port
    except ValueError:
        return False
    if not name or parts.netloc != host or parts.username is not None:
        return False
    return any(_fits(name.rstrip("."), served.lower().rstrip(".")) for served in names_served())


def _fits(name: str, served: str) -> bool:
    return served in {"*", name} or (served.startswith("*.") and name.endswith(served[1:]))


def names_of(address: str) -> list[str]:
    """Return the names under which a server that listens at an address is asked for.

    Parameters
    ----------
    address : str
        An address or name of this machine; one of `EVERYWHERE` stands for all of them.
    """
    if address not in EVERYWHERE:
        return [address]
    name = socket.gethostname().lower()
    own = own_address()
    return [*([own] if own else []), name, f"{name.partition('.')[0]}.local", *THIS_MACHINE]


def own_address() -> str | None:
    """Return the address that other devices see, without sending anything."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # set aside for documents (RFC 5737); chooses a route
        except OSError:
            return None
        found: str = probe.getsockname()[0]
    return found
