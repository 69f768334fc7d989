"""A shop of its own for each test, once in a file and once on a server.

It has one welder, one machine with caps, one adhesive.
"""

from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import EPOXY, stack

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.pages import session
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.stack import AdhesiveState


@pytest.fixture(params=["sqlite", "postgresql"])
def folder(request, tmp_path, monkeypatch):
    """Let pages find their log in a folder or on a server; close what they keep open for good."""
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    if request.param == "postgresql":
        monkeypatch.setenv("ADVISOR_DATABASE_URL", request.getfixturevalue("postgresql_url"))
    logs = []

    def opening(*arguments, **words):
        logs.append(open_log(*arguments, **words))
        return logs[-1]

    monkeypatch.setattr(session, "open_log", opening)
    yield tmp_path
    for each in logs:
        each.close()


@pytest.fixture
def log(folder):
    opened = open_log()
    opened.add_welder("Sam", "Sam")
    opened.save_machine(Machine("Bay gun", 13, 5), "Sam")
    opened.fit_caps(
        "Bay gun", Electrode(CapShape.DOME, 6), datetime.now(UTC) - timedelta(days=3), "Sam"
    )
    opened.save_adhesive(Adhesive(EPOXY, Span(40, 50), Span(90, 120), Span(1440, 1440)), "Sam")
    yield opened
    opened.close()


@pytest.fixture
def wet_joint(log):
    log.save_joint(
        Joint("sill", "RO-1", stack(1.2, 1.0, state=AdhesiveState.WET), "Bay gun"), "Sam"
    )
    return log
