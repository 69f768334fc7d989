"""Typing in the boxes: a comma is a decimal mark whatever the browser speaks, Enter moves on."""

import os

import pytest
from app_server import serving_demo
from conftest import FLAGS
from playwright.sync_api import expect
from test_accessibility import settled

_LABEL = "document.activeElement.getAttribute('aria-label') || document.activeElement.innerText"


@pytest.fixture(scope="module")
def demo(tmp_path_factory, chromium):
    with serving_demo(tmp_path_factory.mktemp("demo")) as address:
        yield address


@pytest.fixture
def form(same_page, demo):
    page = same_page
    page.goto(f"{demo}/coupon?shop=demo&who=Ilka+Brandvik")
    expect(page.get_by_label("Smallest ⌀ [mm]").first).to_be_visible()
    settled(page)
    return page


def focused(page):
    return page.evaluate(_LABEL)


def test_enter_moves_from_box_to_box_and_chooses_nothing(form):
    form.get_by_label("Current [kA]", exact=True).click()
    passed = []
    for _ in range(5):
        form.keyboard.press("Enter")
        passed.append(focused(form))
    assert passed == [
        "Weld time [ms]",
        "Force [kN]",
        "Smallest ⌀ [mm]",
        "Largest ⌀ [mm]",
        "button pulled",
    ]
    settled(form)
    expect(form.get_by_role("radio", name="button pulled").first).not_to_be_checked()


def test_a_coupon_by_numbers_and_enter_alone(form):
    form.get_by_label("Smallest ⌀ [mm]").first.click()
    for typed in ("4,6", "5,0"):
        form.keyboard.type(typed)
        form.keyboard.press("Enter")
    form.keyboard.press("Space")
    settled(form)
    form.get_by_role("button", name="Judge and keep").press("Enter")
    expect(form.get_by_role("dialog")).to_contain_text("4.8 mm against")


def test_what_is_in_a_box_is_replaced_by_what_is_typed_next(form):
    form.get_by_label("Current [kA]", exact=True).click()
    form.keyboard.press("Enter")
    form.keyboard.type("210")
    expect(form.get_by_label("Weld time [ms]")).to_have_value("210")


@pytest.mark.parametrize("text", ["9,25", " 9.25 ", "9,25\n"])
def test_a_number_is_pasted_with_either_mark(form, text):
    box = form.get_by_label("Current [kA]", exact=True)
    box.fill("")
    form.evaluate(
        """text => {
          const data = new DataTransfer();
          data.setData('text', text);
          const paste = new ClipboardEvent('paste', {clipboardData: data, bubbles: true,
                                                     cancelable: true});
          if (document.activeElement.dispatchEvent(paste))
            document.execCommand('insertText', false, text.trim());
        }""",
        text,
    )
    expect(box).to_have_value("9.25")


@pytest.mark.parametrize("speaks", ["en_US", "de_DE"])
def test_a_comma_in_a_browser_of_another_country(chromium, demo, browser, speaks):
    opened = browser.browser_type.launch(
        executable_path=chromium,
        args=[*FLAGS, f"--lang={speaks.replace('_', '-')}"],
        env={**os.environ, "LANGUAGE": speaks[:2], "LANG": f"{speaks}.UTF-8"},
    )
    page = opened.new_page(locale=speaks.replace("_", "-"))
    page.goto(f"{demo}/coupon?shop=demo&who=Ilka+Brandvik")
    settled(page)  # before that the first box may be one that lies folded away further down
    box = page.locator('[data-testid="stNumberInputField"]').first
    box.fill("")
    box.press_sequentially("9,3")
    expect(box).to_have_value("9.3")
    opened.close()


def test_the_document_says_which_language_it_speaks(form):
    expect(form.locator("html")).to_have_attribute("lang", "en")
    form.evaluate("document.querySelector('.spoken').lang = 'de'; document.body.append('')")
    expect(form.locator("html")).to_have_attribute("lang", "de")


def test_the_names_of_the_pages_fold_away_on_a_phone_once_one_is_chosen(form):
    form.set_viewport_size({"width": 390, "height": 844})
    form.get_by_test_id("stExpandSidebarButton").first.click()
    names = form.get_by_test_id("stSidebar")
    expect(names).to_have_attribute("data-collapsed", "false")
    form.get_by_role("link", name="Review", exact=True).first.click()
    expect(form.get_by_role("heading", name="Review", level=1)).to_be_visible()
    expect(names).to_have_attribute("data-collapsed", "true")
