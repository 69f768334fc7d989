"""On a server that others reach everybody signs in: a real browser, a real server."""

import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from app_server import serving
from playwright.sync_api import expect
from test_technician import settled

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.pages.visit import COOKIE, UNTIL_COOKIE
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import open_log
from advisor.store.people import VISIT_HOURS
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

TOP = Path(__file__).resolve().parents[2]
#: Not the address of this machine alone, and yet no other device reaches it.
HERE = "127.0.0.2"
LISTEN = ("--listen", HERE)
LEAD, WELDER = ("Lea Lead", "482915"), ("Wim Welder", "771204")
NO_PIN = "python -m advisor pin NAME --role lead --add"


@pytest.fixture
def shop(tmp_path):
    """A folder with the log of a shop: one machine, one coupon, a lead and a welder with PINs."""
    log = open_log(f"sqlite:///{tmp_path}/log.sqlite")
    door, by = log.used_by(Trust.OPERATOR), "operator"
    for (name, pin), role in ((LEAD, Role.LEAD), (WELDER, Role.WELDER)):
        door.add_welder(name, by)
        door.set_role(name, role, by)
        door.set_pin(name, pin, by)
    caps = Electrode(CapShape.DOME, 6)
    door.save_machine(Machine("Bay gun", 13, 5), by)
    door.fit_caps("Bay gun", caps, datetime.now(UTC), by)
    door.save_joint(Joint("sill", "RO-1", Stack((Sheet(1.2), Sheet(1.0))), "Bay gun"), by)
    stack, result = Stack((Sheet(1.2), Sheet(1.0))), InterfaceResult(4.6, 5.0, FailureType.BUTTON)
    setting = Setting(9.0, 200, 3.0)
    door.add_coupon(
        Coupon(datetime.now(UTC), WELDER[0], "Bay gun", caps, stack, setting, (result,)), by
    )
    log.close()
    return tmp_path


@pytest.fixture
def another_tab(browser):
    """A tab of another device."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, locale="en-GB")
    yield context.new_page()
    context.close()


def sign_in(page, who, pin=None):
    name, right = who
    page.get_by_label("Your name").fill(name)
    page.get_by_label("PIN").fill(pin or right)
    page.get_by_role("button", name="Sign in").click()


def asks_to_sign_in(page):
    expect(page.get_by_role("heading", name="Sign in", level=1)).to_be_visible()
    expect(page.get_by_text("Bay gun")).to_have_count(0)
    assert urllib.request.urlparse(page.url).path == "/sign-in"


def test_a_visitor_signs_in_works_as_what_he_is_and_signs_out(page, another_tab, shop):
    with serving(shop, *LISTEN, host=HERE) as app:
        page.goto(f"{app}/coupon")
        asks_to_sign_in(page)
        sign_in(page, WELDER, "905172")
        asks_to_sign_in(page)
        expect(page.get_by_role("alert")).to_contain_text("do not fit together")
        expect(page.get_by_label("PIN")).to_have_value("")

        sign_in(page, WELDER)
        expect(page.get_by_role("heading", name="Log a coupon")).to_be_visible()
        assert page.url.startswith(f"{app}/coupon")
        settled(page)
        page.get_by_text("Correct or void a coupon").click()
        page.get_by_label("Reason for the correction or the void").fill("wrong sheet")
        page.get_by_role("button", name="Void the coupon").click()
        expect(page.get_by_text("voiding a coupon takes a lead; Wim Welder")).to_be_visible()

        # Another device has its own visit to begin.
        another_tab.goto(app)
        asks_to_sign_in(another_tab)

        page.get_by_role("button", name="Wim Welder").click()
        expect(page.get_by_text("Signed in as Wim Welder, welder")).to_be_visible()
        page.get_by_role("link", name="Sign out").click()
        asks_to_sign_in(page)
        expect(page.get_by_label("Your name")).to_have_value("Wim Welder")
        expect(page.get_by_label("PIN")).to_be_focused()
        page.go_back()
        expect(page.get_by_text("Signed in as")).to_have_count(0)
        asks_to_sign_in(page)


def test_a_lead_may_what_a_welder_may_not_and_a_restart_ends_no_visit(page, shop):
    with serving(shop, *LISTEN, host=HERE) as app:
        page.goto(app)
        sign_in(page, LEAD)
        expect(page.get_by_role("button", name="Lea Lead")).to_be_visible()
    with serving(shop, *LISTEN, host=HERE) as app:
        page.goto(f"{app}/coupon")
        expect(page.get_by_role("button", name="Lea Lead")).to_be_visible()
        settled(page)
        page.get_by_text("Correct or void a coupon").click()
        page.get_by_label("Reason for the correction or the void").fill("wrong sheet")
        page.get_by_role("button", name="Void the coupon").click()
        expect(page.get_by_text(re.compile("voided; it no longer counts"))).to_be_visible()


def test_files_go_both_ways_behind_the_gate(page, shop):
    refused = []
    page.on("console", lambda said: refused.append(said.text) if "Policy" in said.text else None)
    with serving(shop, *LISTEN, host=HERE) as app:
        page.goto(f"{app}/files")
        sign_in(page, LEAD)
        expect(page.get_by_role("heading", name="Files")).to_be_visible()
        settled(page)
        page.wait_for_timeout(1500)  # the visit is looked up again for the file
        with page.expect_download() as download:
            page.get_by_role("button", name="All coupons as CSV").click()
        download.value.save_as(shop / "coupons.csv")
        page.locator("input[type=file]").first.set_input_files(shop / "coupons.csv")
        expect(page.get_by_text(re.compile("rows? can be read"))).to_be_visible()
        page.goto(f"{app}/review?shop=demo&view=Pass+rates")
        drawn = page.locator('[data-testid="stVegaLiteChart"] svg.marks').first
        expect(drawn).to_be_visible(timeout=60_000)  # the demo shop is made first
    assert refused == []


def test_a_visit_that_ends_elsewhere_closes_the_open_page(page, shop):
    with serving(shop, *LISTEN, host=HERE) as app:
        page.goto(f"{app}/shop")
        sign_in(page, WELDER)
        expect(page.get_by_role("heading", name="Shop set-up")).to_be_visible()
        settled(page)
        page.get_by_role("button", name="Units").click()
        radio = page.get_by_role("radio", name="daN")
        expect(radio).to_be_visible()
        settled(page)  # a page that is drawn anew closes what was opened before
        log = open_log(f"sqlite:///{shop}/log.sqlite")
        log.used_by(Trust.OPERATOR).leave(WELDER[0], "operator")
        log.close()
        radio.click()
        expect(page.get_by_text("The visit has ended")).to_be_visible()
        expect(page.get_by_text("Bay gun")).to_have_count(0)
        expect(page.get_by_role("link", name="Review")).to_have_count(0)
        page.get_by_role("link", name="Sign in").click()
        asks_to_sign_in(page)


def test_a_visit_that_runs_out_leaves_nothing_on_view(page, shop):
    log = open_log(f"sqlite:///{shop}/log.sqlite")
    left = timedelta(seconds=12)
    token = log.sign_in(*WELDER, now=datetime.now(UTC) - timedelta(hours=VISIT_HOURS) + left)
    log.close()
    until = str(int((datetime.now(UTC) + left).timestamp()))
    with serving(shop, *LISTEN, host=HERE) as app:
        page.context.add_cookies(
            [
                {"name": name, "value": value, "url": app}
                for name, value in ((COOKIE, token), (UNTIL_COOKIE, until))
            ]
        )
        page.goto(f"{app}/coupon")
        expect(page.get_by_text("Bay gun").first).to_be_visible()
        expect(page.get_by_role("heading", name="Sign in", level=1)).to_be_visible(timeout=60_000)
        asks_to_sign_in(page)


@pytest.mark.parametrize("width", [390, 820])
def test_the_form_fits_gloved_hands_and_needs_no_script(browser, shop, width):
    with serving(shop, *LISTEN, host=HERE) as app:
        context = browser.new_context(
            viewport={"width": width, "height": 844}, java_script_enabled=False
        )
        page = context.new_page()
        page.goto(app)
        sign_in(page, WELDER, "905172")
        expect(page.get_by_role("alert")).to_be_visible()
        for part in (
            page.get_by_label("Your name"),
            page.get_by_label("PIN"),
            page.get_by_role("button", name="Sign in"),
        ):
            box = part.bounding_box()
            assert box["height"] >= 48
            assert 0 <= box["x"]
            assert box["x"] + box["width"] <= width
        sign_in(page, WELDER)
        assert page.url == f"{app}/"
        context.close()


def test_without_a_lead_s_pin_the_server_does_not_start(tmp_path):
    command = [sys.executable, "-m", "advisor", "--no-browser", *LISTEN, "--data", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert NO_PIN in done.stderr


@contextmanager
def started_directly(folder, *options):
    """Start the app past the program's own command, as Streamlit starts any app."""
    with socket.socket() as probe:
        probe.bind((HERE, 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", str(TOP / "app.py"), "--server.headless"]
    options = ["true", f"--server.port={port}", f"--server.allowedHosts={HERE}", *options]
    with open(folder / "server.txt", "w") as output:
        server = subprocess.Popen(
            [*command, *options],
            stdout=output,
            stderr=subprocess.STDOUT,
            env=os.environ | {"ADVISOR_DATA_DIR": str(folder)},
        )
        try:
            end = time.monotonic() + 60
            while answer(f"http://{HERE}:{port}/_stcore/health") is None:
                assert server.poll() is None
                assert time.monotonic() < end
                time.sleep(0.1)
            yield f"http://{HERE}:{port}"
        finally:
            server.terminate()
            server.wait(20)


def answer(address):
    """Return status and text of an answer, None where nothing answers."""
    try:
        with urllib.request.urlopen(address, timeout=5) as found:  # noqa: S310  (our own server)
            return found.status, found.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()
    except OSError:
        return None


def test_started_past_its_own_command_it_asks_as_well(page, shop, tmp_path_factory):
    with started_directly(shop, f"--server.address={HERE}") as app:
        page.goto(f"{app}/coupon")
        asks_to_sign_in(page)
    empty = tmp_path_factory.mktemp("empty")
    with started_directly(empty, f"--server.address={HERE}") as app:
        for path in ("/", "/coupon", "/sign-in", "/_stcore/metrics"):
            status, text = answer(app + path)
            assert status == 503
            assert NO_PIN in text
