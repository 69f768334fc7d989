"""Fingers in gloves: what a technician presses is large enough, and at the thumb on a phone."""

import pytest
from playwright.sync_api import expect
from test_accessibility import judge, settled, unfold

SHOP = "shop=demo&who=Ilka+Brandvik"
LEAST_PX = 44
#: Everything that is pressed or typed in, by the box that takes the touch. What is not touched
#: stays out: what only readers of the screen are told, and the small signs that explain a word.
_TOO_SMALL = """least => {
  const boxes = [
    '[data-testid="stNumberInputContainer"]', '[data-testid="stTextInputRootElement"]',
    '[data-testid="stSelectbox"] [role="group"]', 'label',
  ].join(',');
  const pressed = 'button, a[href], summary, input, [role=tab], [role=menuitem], [role=option]';
  const seen = each => each.checkVisibility({visibilityProperty: true, opacityProperty: true});
  const out = [
    '[data-testid="stTooltipIcon"]', '[data-testid="stSkipLink"]', '[aria-hidden="true"]',
    '[aria-label="Dismiss"]',
  ].join(',');
  return [...document.querySelectorAll(pressed)]
    .filter(each => seen(each) && !each.closest(out) && !each.closest('[inert]'))
    .map(each => (each.matches('input, [aria-label="Open"]') && each.closest(boxes)) || each)
    .map(each => ({box: each.getBoundingClientRect(), html: each.outerHTML.slice(0, 200)}))
    .filter(({box}) => box.width > 1 && box.right > 0 && box.bottom > 0)
    .filter(({box}) => Math.min(box.width, box.height) < least - 0.01)
    .map(({box, html}) => `${box.width.toFixed(0)} x ${box.height.toFixed(0)}: ${html}`);
}"""


@pytest.fixture
def demo(judged_demo):
    return judged_demo


def more(page):
    unfold("Squeeze, hold", "Not tested yet", "Correct or void")(page)


@pytest.mark.parametrize(
    ("address", "act"), [("", None), ("coupon", more), ("coupon", judge), ("setting?joint=3", None)]
)
def test_all_that_is_pressed_is_large_enough(same_page, demo, address, act):
    same_page.goto(f"{demo}/{address}{'&' if '?' in address else '?'}{SHOP}")
    expect(same_page.get_by_role("heading", level=1)).to_be_visible()
    settled(same_page)
    if act:
        act(same_page)
        settled(same_page)
    for width in (820, 390):
        same_page.set_viewport_size({"width": width, "height": 900})
        settled(same_page)
        assert same_page.evaluate(_TOO_SMALL, LEAST_PX) == []


def test_on_a_phone_pages_person_and_menu_lie_at_the_thumb(page, demo):
    height = 844
    page.set_viewport_size({"width": 390, "height": height})
    page.goto(f"{demo}/coupon?{SHOP}")
    settled(page)
    link = page.get_by_test_id("stPageLink").get_by_role("link")
    reached = [
        *(link.filter(has_text=words) for words in ("Joints", "Coupon", "Setting")),
        page.get_by_role("button", name="Ilka Brandvik"),
        page.get_by_role("button", name="Expand sidebar"),
    ]
    boxes = [each.bounding_box() for each in reached]
    assert [box["y"] > 0.75 * height for box in boxes] == [True] * 5
    # Side by side, none over another.
    edges = [edge for box in boxes for edge in (box["x"], box["x"] + box["width"])]
    assert edges == sorted(edges)
    reached[3].click()
    page.get_by_role("menuitem", name="Noor Adeyemi").click()
    expect(page.get_by_role("button", name="Noor Adeyemi")).to_be_visible()
    settled(page)
    reached[4].click()
    page.get_by_test_id("stSidebarNav").get_by_role("link", name="Weld layout").click()
    expect(page.get_by_role("heading", name="Weld layout", level=1)).to_be_visible()


def test_a_class_sees_larger_type_and_charts_that_fit(page, demo):
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"{demo}/review?view=Drift&{SHOP}")
    chart = page.locator("svg.marks").first
    expect(chart).to_be_visible()
    settled(page)
    label = page.locator("svg.marks text").first
    before = label.bounding_box()["height"]
    page.get_by_text("Projector", exact=True).click()
    expect(page.locator("html")).to_have_css("font-size", "25px")
    settled(page)
    expect(chart).to_be_visible()
    assert label.bounding_box()["height"] > 1.3 * before
    box = chart.bounding_box()
    assert box["x"] + box["width"] <= 1280
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    # It holds on other pages and after a reload.
    page.get_by_role("link", name="Log a coupon").click()
    expect(page.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()
    page.reload()
    settled(page)
    expect(page.locator("html")).to_have_css("font-size", "25px")
    expect(page.get_by_label("Projector")).to_be_checked()
