"""A shop in a folder of its own for each test: one welder, one machine with caps, one adhesive."""

from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import EPOXY, stack

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.stack import AdhesiveState


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    return tmp_path


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
