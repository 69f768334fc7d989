"""The technician's path in a real browser, at a tablet's width, and what must never leave it."""

import re
from contextlib import suppress
from datetime import UTC, datetime

import pytest
from app_server import serving
from playwright.sync_api import TimeoutError, expect

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

MISSING = "bonded-joint test missing"
EPOXY, GROUND = "Test epoxy", Surface.GROUND_BARE
_AT_REST = '[data-test-script-state="notRunning"]'
_TWO_FRAMES = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def fill(page, words, value, nth=0):
    box = page.get_by_label(re.compile("^" + re.escape(words))).nth(nth)
    box.fill(str(value))
    box.press("Tab")


def pick(page, words, option):
    page.get_by_label(words, exact=True).first.click()
    page.get_by_role("option", name=option, exact=True).click()


def settled(page):
    """Wait until the page has drawn what the last action asked for."""
    # By selector: the app's pages let no text be run as a program, not even a test's.
    with suppress(TimeoutError):  # it may be over already, or nothing was asked for
        page.wait_for_selector(f".stApp:not({_AT_REST})", timeout=300)
    for _ in range(2):
        expect(page.locator(f".stApp{_AT_REST}")).to_be_visible()
        expect(page.locator('[data-testid="stStatusWidget"], [data-stale="true"]')).to_have_count(0)
        page.evaluate(_TWO_FRAMES)


def set_up_shop(page, address):
    page.goto(address)
    fill(page, "Your name", "Sam Bench")
    fill(page, "Machine", "Bay gun")
    fill(page, "Largest current [kA]", 13)
    fill(page, "Largest force [kN]", 5)
    page.get_by_role("radio", name="50").click()
    fill(page, "Cap face diameter [mm]", 6)
    page.get_by_role("button", name="Start the log").click()
    expect(page.get_by_role("heading", name="Before welding")).to_be_visible()


def add_adhesive(page):
    page.get_by_role("link", name="Shop set-up").click()
    page.get_by_role("tab", name="Adhesives").click()
    fill(page, "Name on the cartridge", EPOXY)
    for words, low, high in (
        ("Work time", 40, 50),
        ("Clamps may come off after", 90, 120),
        ("Full cure", 24, 24),
    ):
        fill(page, f"{words}, from", low)
        fill(page, f"{words}, to", high)
    page.get_by_role("button", name="Keep the adhesive").click()
    expect(page.get_by_text("Adhesive kept.")).to_be_visible()


def add_joint(page, name, state, first):
    page.get_by_role("link", name="Before welding").click()
    expect(page.get_by_role("heading", name="Before welding")).to_be_visible()
    settled(page)
    if not first:
        page.get_by_text("Add a joint").click()
    type_joint(page, name, state, "RO-1" if first else "")


def type_joint(page, name, state, job=""):
    """Fill the form of a joint, of a new job where one is named, and add it."""
    if job:
        fill(page, "Repair-order number", job)
    fill(page, "Where it is", name)
    fill(page, "Sheet 1 [mm]", 1.2)
    fill(page, "Sheet 2 [mm]", 1.0)
    page.get_by_role("radio", name=state, exact=True).click()
    settled(page)
    page.get_by_role("button", name="Add the joint").click()
    expect(page.get_by_text("Joint added.")).to_be_visible()
    settled(page)


def log_coupon(page, small, large):
    fill(page, "Smallest ⌀ [mm]", small)
    fill(page, "Largest ⌀ [mm]", large)
    page.get_by_role("radio", name="button pulled").first.click()
    page.get_by_role("button", name="Judge and keep").click()
    return page.get_by_role("dialog")


def go_on(page):
    page.get_by_role("button", name="Same setting again").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.get_by_label("Smallest ⌀ [mm]")).to_have_value("")
    settled(page)


@pytest.fixture
def bonded_shop(page, tmp_path):
    """The page of a shop with one joint, as `set_up_shop` and what follows it leave it."""
    log, by = open_log(f"sqlite:///{tmp_path}/log.sqlite"), "Sam Bench"
    log.add_welder(by, by)
    log.save_machine(Machine("Bay gun", 13, 5, mains_hz=50), by)
    log.fit_caps("Bay gun", Electrode(CapShape.DOME, 6), datetime.now(UTC), by)
    log.save_adhesive(Adhesive(EPOXY, Span(40, 50), Span(90, 120), Span(1440, 1440)), by)
    sheets = tuple(Sheet(t, upper=GROUND, lower=GROUND) for t in (1.2, 1.0))
    stack = Stack(sheets, (Bond(EPOXY, AdhesiveState.WET),))
    log.save_joint(Joint("sill, wet", "RO-1", stack, "Bay gun"), by)
    log.close()
    with serving(tmp_path) as address:
        page.goto(address)
        expect(page.get_by_role("heading", name="Before welding")).to_be_visible()
        settled(page)
        yield page


def test_wet_is_missing_then_covered_and_cured_stays_missing(page, app):
    set_up_shop(page, app)
    add_adhesive(page)
    add_joint(page, "sill, wet", "wet", first=True)
    expect(page.get_by_text(MISSING)).to_be_visible()

    page.get_by_role("button", name="Log a coupon for this joint").click()
    expect(page.get_by_role("heading", name="Log a coupon")).to_be_visible()
    settled(page)
    verdict = log_coupon(page, 4.4, 4.8)
    expect(verdict).to_contain_text("PASS")
    expect(verdict).to_contain_text("4.6 mm against 4.00 mm = 4√1: pass by 0.6 mm")
    expect(verdict).to_contain_text("1 of 2 passing coupons in a row")
    go_on(page)
    expect(page.get_by_text(MISSING)).to_be_visible()
    verdict = log_coupon(page, 4.5, 4.9)
    expect(verdict).to_contain_text("bonded joint covered")
    # The verdict says with which setting, and leads to where the joint is released.
    expect(verdict.locator(".dials")).to_contain_text("kA")
    verdict.get_by_role("button", name="To the joint: release it").click()
    expect(page.get_by_role("heading", name="Before welding")).to_be_visible()
    expect(page.get_by_role("button", name="Release this joint")).to_be_visible()
    expect(page.get_by_text("bonded joint covered")).to_be_visible()
    expect(page.get_by_text(MISSING)).to_have_count(0)

    add_joint(page, "sill, cured", "cured", first=False)
    cured = page.locator(".card", has_text="sill, cured")
    expect(cured).to_contain_text(MISSING)
    expect(cured).to_contain_text("use the welder maker's recommended settings")
    # No number is offered for the vehicle: the card has no setting at all.
    expect(cured.locator(".dials")).to_have_count(0)
    expect(cured).not_to_contain_text(re.compile(r"\d (kA|ms|kN)"))
    wet = page.locator(".card", has_text="sill, wet")
    expect(wet).to_contain_text("bonded joint covered")
    expect(wet.locator(".dials")).to_have_count(1)
    assert page.outside == []


def test_a_coupon_is_logged_for_the_joint_that_was_looked_at(bonded_shop):
    page = bonded_shop
    log_a_coupon = page.get_by_role("link", name="Log a coupon")
    add_joint(page, "roof", "no adhesive", first=False)
    log_a_coupon.click()
    expect(page.get_by_role("heading", name="Log a coupon")).to_be_visible()
    settled(page)
    # Neither the newest nor named: the first that wants a test on the page before.
    expect(page.locator(".card")).to_contain_text("sill, wet")


def test_a_failing_coupon_says_by_how_much_and_what_next(bonded_shop):
    page = bonded_shop
    page.get_by_role("link", name="Log a coupon").click()
    settled(page)
    current = page.get_by_label("Current [kA]", exact=True)
    before = float(current.input_value())
    verdict = log_coupon(page, 3.4, 3.8)
    expect(verdict).to_contain_text("FAIL")
    expect(verdict).to_contain_text("3.6 mm against 4.00 mm = 4√1: fail by 0.4 mm")
    page.get_by_role("button", name="Weld the next coupon with this setting").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    settled(page)
    # The small button asks for more current, and the boxes hold it.
    expect(current).to_have_count(1)
    assert float(current.input_value()) > before
    expect(page.get_by_text(MISSING)).to_be_visible()


def test_bad_input_is_told_and_nothing_typed_is_lost(bonded_shop):
    page = bonded_shop
    page.get_by_role("link", name="Log a coupon").click()
    settled(page)
    fill(page, "Force [kN]", 9)
    fill(page, "Smallest ⌀ [mm]", 5.2)
    fill(page, "Largest ⌀ [mm]", 4.3)
    page.get_by_role("radio", name="button pulled").first.click()
    page.get_by_role("button", name="Judge and keep").click()
    expect(
        page.get_by_text("the smallest diameter, 5.2 mm, is larger than the largest, 4.3 mm")
    ).to_be_visible()
    fill(page, "Largest ⌀ [mm]", 5.4)
    page.get_by_role("button", name="Judge and keep").click()
    expect(page.get_by_text(re.compile("electrode force is 9 kN; Bay gun gives"))).to_be_visible()
    expect(page.get_by_label("Force [kN]")).to_have_value("9.00")
    expect(page.get_by_label("Smallest ⌀ [mm]").first).to_have_value("5.20")


def test_inches_typed_as_mm_are_told(bonded_shop):
    page = bonded_shop
    page.get_by_text("Add a joint").click()
    fill(page, "Sheet 1 [mm]", 0.05)
    fill(page, "Sheet 2 [mm]", 1.0)
    expect(page.get_by_text("if that was inches it is 1.27 mm")).to_be_visible()
    expect(page.get_by_label("Sheet 1 [mm]")).to_have_value("0.05")


def test_units_follow_the_person_and_survive_a_reload(bonded_shop):
    page = bonded_shop
    page.get_by_role("button", name="Units").click()
    page.get_by_role("radio", name="daN").click()
    settled(page)
    page.get_by_role("radio", name="cycles").click()
    settled(page)
    page.keyboard.press("Escape")
    page.get_by_role("link", name="Log a coupon").click()
    settled(page)
    expect(page.get_by_label("Force [daN]")).to_be_visible()
    page.reload()
    settled(page)
    # 1 cycle of 50 Hz mains is 20 ms; 1 kN is 100 daN.
    expect(page.get_by_label("Weld time [cycles]")).to_be_visible()
    expect(page.get_by_label("Force [daN]")).to_be_visible()


def test_every_choice_of_a_joint_is_kept(bonded_shop):
    page = bonded_shop
    add_joint(page, "roof, bare", "no adhesive", first=False)
    page.get_by_role("link", name="Log a coupon").click()
    settled(page)
    for joint in ("sill, wet", "roof, bare", "sill, wet", "another stack …"):
        pick(page, "For which joint?", joint if joint.endswith("…") else f"RO-1 · {joint}")
        settled(page)
        if not joint.endswith("…"):
            expect(page.locator(".card")).to_contain_text(joint)
    expect(page.locator(".card")).to_have_count(0)
