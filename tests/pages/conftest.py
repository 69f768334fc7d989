"""A shop of its own for each test, once in a file and once on a server.

It has one welder, one machine with caps, one adhesive.
"""

from datetime import UTC, datetime, timedelta
from functools import cache

import pytest
from page_helpers import EPOXY, stack
from streamlit.components.v2 import manifest_scanner

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.pages import session
from advisor.pages.parts import chart_once
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.stack import AdhesiveState


@pytest.fixture(scope="session", autouse=True)
def packages_read_once():
    """Look for components in the installed packages once, not anew for every page of a test."""
    with pytest.MonkeyPatch.context() as patch:
        found = cache(manifest_scanner.scan_component_manifests)
        patch.setattr(manifest_scanner, "scan_component_manifests", found)
        yield


@pytest.fixture(autouse=True)
def charts_forgotten():
    """Make charts anew: a test may speak a language of its own under another's name."""
    chart_once._made.clear()


@pytest.fixture(autouse=True)
def demo_copied(ready, monkeypatch):
    """Fill the demo shop from a copy: the browser's tests and `store/test_demo.py` make it anew."""
    monkeypatch.setattr(session, "fill_demo", ready.fill_demo)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request):
    """What a test's log is kept in; a module to which that is all one overrides this."""
    return request.param


@pytest.fixture
def folder(request, database, tmp_path, monkeypatch):
    """Let pages find their log in a folder or on a server; close what they keep open for good."""
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    if database == "postgresql":
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
