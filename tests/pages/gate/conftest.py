"""A shop whose people have PINs, and a browser before the gate of its server."""

import pytest
from gate_helpers import LEAD, WELDER, Door, behind, listens

from advisor.pages import server
from advisor.pages.listening import PROXY
from advisor.pages.throttle import Throttle
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import open_log


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A log with a lead and a welder, each with a PIN."""
    log = open_log(f"sqlite:///{tmp_path_factory.mktemp('gate')}/log.sqlite")
    door = log.used_by(Trust.OPERATOR)
    for (name, pin), role in ((LEAD, Role.LEAD), (WELDER, Role.WELDER)):
        door.add_welder(name, "operator")
        door.set_role(name, role, "operator")
        door.set_pin(name, pin, "operator")
    yield log
    log.close()


@pytest.fixture
def empty(tmp_path):
    log = open_log(f"sqlite:///{tmp_path}/log.sqlite")
    yield log
    log.close()


@pytest.fixture
def clock():
    class Clock:
        now_s = 0.0

        def __call__(self):
            return self.now_s

    return Clock()


@pytest.fixture
def opened(monkeypatch, clock):
    """Open the door of a log, as a browser on another device finds it."""
    monkeypatch.delenv(PROXY, raising=False)
    monkeypatch.setattr(server, "_throttle", Throttle(clock))

    def opening(log, address="127.0.0.2", *names, **more):
        listens(monkeypatch, address, *(names or ["127.0.0.2", "shop.example"]))
        monkeypatch.setattr(server, "shop_log", lambda: log)
        return Door(behind(log), **more)

    return opening


@pytest.fixture
def door(opened, shop):
    return opened(shop)


@pytest.fixture
def alone(opened, shop):
    """The server for this machine only."""
    names = ["localhost", "127.0.0.1", "::1"]
    return opened(shop, "127.0.0.1", *names, host="127.0.0.1:8501", came_in_at="127.0.0.1")
