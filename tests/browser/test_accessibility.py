"""Every page and view of the demo shop under axe-core: at each of three widths, light or dark.

ADVISOR_AXE=all looks at every width in both; a dark page is laid out as a light one is.
"""

import os
import re
from dataclasses import dataclass
from urllib.parse import quote_plus

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import expect

from advisor.pages import sign_in
from advisor.pages.classroom import page as classroom
from advisor.pages.review import page as review

WIDTHS = (390, 820, 1280)
EVERY = os.environ.get("ADVISOR_AXE") == "all"
GROUNDS = {"light": WIDTHS if EVERY else (390, 1280), "dark": WIDTHS if EVERY else (820,)}
SHOP = "shop=demo&who=Ilka+Brandvik"
#: What axe calls serious or critical: rule, markup, why.
_SERIOUS = """async () => {
  const found = await axe.run(document, {resultTypes: ['violations']});
  return found.violations
    .filter(each => ['serious', 'critical'].includes(each.impact))
    .flatMap(each => each.nodes.map(
      node => [each.id, node.html.slice(0, 300), node.failureSummary.slice(0, 300)]));
}"""
_TWO_FRAMES = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


@dataclass(frozen=True)
class Look:
    """A page or view, and what is done on it before it is looked at."""

    name: str
    address: str
    act: object = None
    shop: str = SHOP


def unfold(*texts):
    def act(page):
        for text in texts:
            page.locator("summary").filter(has_text=text).first.click()
            expect(page.locator("details[open]").filter(has_text=text).first).to_be_visible()
            settled(page)

    return act


def tab(name):
    return lambda page: page.get_by_role("tab", name=name).click()


def popover(name):
    def act(page):
        page.get_by_role("button", name=name).first.click()
        expect(page.get_by_test_id("stPopoverBody")).to_be_visible()

    return act


def menu(name):
    def act(page):
        page.get_by_role("button", name=name).first.click()
        expect(page.get_by_role("menuitem").first).to_be_visible()

    return act


def fill(page, words, value):
    box = page.get_by_label(re.compile("^" + re.escape(words))).locator("visible=true").first
    box.fill(str(value))
    box.press("Tab")


def judge(page):
    fill(page, "Smallest ⌀", 4.6)
    fill(page, "Largest ⌀", 5.0)
    page.get_by_role("radio", name="button pulled").first.click()
    settled(page)
    page.get_by_role("button", name="Judge and keep").click()
    expect(page.get_by_role("dialog")).to_contain_text("PASS")


def lay_out(page):
    lengths = {"Length": 420, "Width": 20, "Row from edge": 10, "Number of welds": 9}
    for words, value in (lengths | {"Pitch": 45, "First from end": 20}).items():
        fill(page, words, value)
    expect(page.get_by_role("heading", name="Proposed")).to_be_visible()


def views(address, known):
    """Return the views of a page, which its address names by their titles."""
    titles = [title for title, _ in known.values()]
    return [Look(f"{address}, {each}", f"{address}?view={quote_plus(each)}") for each in titles]


LOOKS = [
    Look("before", ""),
    Look(
        "before, unfolded",
        "",
        unfold(
            "Why, and what the joint needs",
            "Coupons to weld for this job",
            "Job record and labels",
            "Adhesive clocks",
            "Add a joint",
        ),
    ),
    Look("person", "", menu("Ilka Brandvik")),
    Look("units", "", popover("Units")),
    Look(
        "coupon",
        "coupon",
        unfold("Squeeze, hold", "Not tested yet", "Eyes, magnetic field", "Correct or void"),
    ),
    Look("coupon, verdict", "coupon", judge),
    Look("setting", "setting?joint=3", unfold("Why this setting", "Cautions at the machine")),
    Look("layout", "layout", lay_out),
    *views("review", review.VIEWS),
    Look("review, rates by month", "review?view=Pass+rates&by=Month"),
    *views("class", classroom.VIEWS),
    Look("shop, machines", "shop", unfold("Limits and calibration")),
    *(Look(f"shop, {name}", "shop", tab(name)) for name in ("People", "Adhesives", "Rules")),
    Look("files", "files"),
    Look("a new shop", "", shop=""),
    Look("to a class", "setting?joint=3&projector=on"),
]


def settled(page):
    """Wait until the page is dressed and has drawn what the last action asked for, charts too."""
    for _ in range(2):
        expect(page.locator("html")).to_have_css("--round", "4px")
        expect(page.locator('.stApp[data-test-script-state="notRunning"]')).to_be_visible()
        expect(page.locator('[data-stale="true"]')).to_have_count(0)
        # Two frames, by which time what was asked for is under way.
        page.evaluate(_TWO_FRAMES)
    expect(page.locator(".fence")).to_be_visible()
    expect(
        page.locator('[data-testid="stVegaLiteChart"]:not(:has(svg.marks, canvas)):visible')
    ).to_have_count(0)


def serious(page):
    """Return what axe finds serious or critical, as rule, markup and why."""
    page.evaluate(AXE_SCRIPT)
    return page.evaluate(_SERIOUS)


def open_look(page, address, look):
    page.goto(f"{address}/{look.address}{'&' if '?' in look.address else '?'}{look.shop}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    settled(page)
    if look.act:
        look.act(page)
        settled(page)


@pytest.fixture
def demo(judged_demo):
    return judged_demo


@pytest.fixture(scope="module")
def held(browser):
    """One tab for all, since starting anew at each page costs most of the time."""
    context = browser.new_context(locale="en-GB", reduced_motion="reduce")
    context.set_default_timeout(20_000)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_nothing_is_out_of_reach(held, demo, look):
    held.emulate_media(color_scheme="light")
    held.set_viewport_size({"width": WIDTHS[0], "height": 900})
    open_look(held, demo, look)
    found = {}
    for ground, width in [(each, width) for each in GROUNDS for width in GROUNDS[each]]:
        held.emulate_media(color_scheme=ground)
        held.set_viewport_size({"width": width, "height": 900})
        expect(held.locator(".stApp")).to_have_css("color-scheme", ground)
        settled(held)
        found |= {(ground, width, *each): None for each in serious(held)}
    assert list(found) == []


@pytest.mark.parametrize("content", [sign_in.form("Sam", said="wrong PIN"), sign_in.notice("no.")])
def test_the_door_is_within_reach(held, content):
    held.goto("about:blank")
    held.set_content(content)
    for ground in GROUNDS:
        held.emulate_media(color_scheme=ground)
        assert serious(held) == []


def test_what_is_out_of_reach_is_found(held):
    held.goto("about:blank")
    held.set_content("<main><h1>a</h1><button></button><p style='color:#aaa'>pale</p></main>")
    assert {rule for rule, *_ in serious(held)} >= {"button-name", "color-contrast"}
