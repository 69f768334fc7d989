"""A technician's path without mouse or finger: person, coupon, verdict, next setting."""

import pytest
from app_server import serving_demo
from playwright.sync_api import expect
from test_accessibility import settled

#: More stops than any page of the path has.
_MOST_STOPS = 120
#: What has the focus: its name, its role, and how wide the ring around it, or around its box, is.
_FOCUSED = """() => {
  const held = document.activeElement;
  const widths = [];
  for (let each = held; each && widths.length < 6; each = each.parentElement) {
    const look = getComputedStyle(each);
    widths.push(look.outlineStyle === 'none' ? 0 : parseFloat(look.outlineWidth));
  }
  const box = held.getBoundingClientRect();
  return {
    name: (held.getAttribute('aria-label') || held.innerText || '').trim(),
    is_frame: ['BODY', 'MAIN'].includes(held.tagName),
    ring: Math.max(...widths),
    seen: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
  };
}"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory, chromium):
    with serving_demo(tmp_path_factory.mktemp("demo")) as address:
        yield address


def reach(page, name, key="Tab"):
    """Go from stop to stop until one with this name has the focus; each on the way is seen."""
    passed = []
    for _ in range(_MOST_STOPS):
        page.keyboard.press(key)
        held = page.evaluate(_FOCUSED)
        if held["is_frame"]:
            continue
        assert held["ring"] >= 3, f"no ring around {held}"
        assert held["seen"], f"out of sight: {held}"
        passed.append(held["name"])
        if name in held["name"]:
            return
    pytest.fail(f"{name!r} was not reached; passed {passed}")


def choose_person(page, name):
    reach(page, "Who is at the bench?")
    page.keyboard.press("Enter")
    item = page.get_by_role("menuitem", name=name)
    expect(item).to_be_visible()
    while not item.evaluate("each => each === document.activeElement"):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name=name)).to_be_visible()
    settled(page)


def log_a_repeat(page):
    reach(page, "Smallest ⌀")
    page.keyboard.type("4.6")
    reach(page, "Largest ⌀")
    page.keyboard.type("5.0")
    reach(page, "button pulled")
    page.keyboard.press("Space")
    settled(page)
    reach(page, "Judge and keep")
    page.keyboard.press("Enter")


def test_the_technician_s_path_needs_no_pointer(page, demo):
    page.goto(f"{demo}/coupon?shop=demo")
    expect(page.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()
    settled(page)
    choose_person(page, "Ilka Brandvik")
    setting = [page.get_by_label(words).first for words in ("Current [kA]", "Force [kN]")]
    dialled = [each.input_value() for each in setting]
    log_a_repeat(page)

    verdict = page.get_by_role("dialog")
    expect(verdict).to_contain_text("PASS")
    reach(page, "Same setting again")
    page.keyboard.press("Enter")
    expect(verdict).to_have_count(0)
    settled(page)
    assert [each.input_value() for each in setting] == dialled

    reach(page, "Next setting", "Shift+Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Next setting for a coupon")).to_be_visible()
    settled(page)
    expect(page.locator(".card").first).to_contain_text("covered")
    reach(page, "Explore further on coupons")
    page.keyboard.press("Space")
    expect(page.locator(".card.next")).to_be_visible()
    settled(page)
    reach(page, "Why this setting")
    page.keyboard.press("Enter")
    expect(page.locator("svg.marks").first).to_be_visible()
