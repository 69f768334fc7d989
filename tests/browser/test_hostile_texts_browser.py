"""A shop full of texts that a page might run: every page shows them as text, and no more."""

from datetime import UTC, datetime

import pytest
from app_server import serving
from hostile_texts import HTML, LETTERS, MARKDOWN, SQL, as_name, enter, start
from playwright.sync_api import expect
from test_demo_pages import PAGES
from test_technician import settled

from advisor.store.log import open_log

TEXTS = (*HTML, *MARKDOWN, SQL[0], SQL[2], *LETTERS)
JOB = "# job <script>window.hacked=1</script> **bold**"
#: What such a text would be if it were taken for more than a text.
MADE_OF_TEXTS = """() => [
    'a[href*="example.invalid"], a[href^="javascript:"], a[href^="mailto:"]',
    'img[src*="example.invalid"], img[src="x"], img[alt*="treamlit"], svg[onload], [onerror]',
    '.stMarkdown :is(del, code, pre, table, hr, blockquote, em, h2, .katex)',
    '[data-testid="stWidgetLabel"] :is(del, code, em, strong, a, img, .katex)',
    '[data-testid="stAlert"] :is(del, code, em, strong, a, img, table, .katex)',
    '.stMarkdown [class*="badge"]',
].flatMap(what => [...document.querySelectorAll(what)].map(each => each.outerHTML)).concat(
    [...document.querySelectorAll('strong')].map(each => each.innerText).filter(
        text => text === 'bold' || text === 'three'),
    [...document.querySelectorAll('[data-testid="stIconMaterial"]')].map(each => each.innerText)
        .filter(text => text === 'delete'))"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory, chromium):
    folder = tmp_path_factory.mktemp("hostile")
    log = start(open_log(f"sqlite:///{folder / 'log.sqlite'}"))
    for text in TEXTS:
        enter(log, text, datetime.now(UTC), JOB)
    names = log.joint_names()
    log.close()
    with serving(folder) as address:
        yield address, names


@pytest.fixture
def careful(same_page):
    """A tab that notes dialogs, and checks that nothing typed has become more than a text."""
    page, dialogs = same_page, []

    def note(dialog):
        dialogs.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", note)

    def check():
        settled(page)
        assert page.locator('[data-testid="stException"]').count() == 0
        assert page.evaluate("typeof window.hacked") == "undefined"
        assert page.evaluate(MADE_OF_TEXTS) == []
        assert (page.outside, dialogs) == ([], [])

    page.check = check
    yield page
    page.remove_listener("dialog", note)


def shown(page):
    """Return what a person reads on the page, without letters that have no width."""
    text = page.locator('[data-testid="stMain"]').inner_text()
    return as_name("".join(each for each in text if each not in "\u2060\u202c"))


@pytest.mark.parametrize(("address", "title"), PAGES.items())
def test_every_page_shows_texts_and_runs_none(careful, shop, address, title):
    careful.goto(f"{shop[0]}/{address}?who=%3Cscript%3Ewindow.hacked%3D1%3C%2Fscript%3E")
    expect(careful.get_by_role("heading", name=title, level=1)).to_be_visible()
    careful.check()
    for fold in careful.locator("summary:visible").all():
        fold.click()
    careful.check()


def test_addresses_that_nobody_gave_out_open_the_page(careful, shop):
    for asked in ("who=%22%3E%3Csvg%20onload%3D1%3E", "shop=%3Cscript%3E", "joint=" + "9" * 5000):
        careful.goto(f"{shop[0]}/coupon?{asked}")
        expect(careful.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()
        careful.check()
    careful.goto(f"{shop[0]}/review?view=Pass+rates&by=%3Cscript%3E&of='%20OR%201%3D1&on=%22%3E")
    expect(careful.get_by_role("heading", name="Review", level=1)).to_be_visible()
    careful.check()


def test_a_coupon_s_joint_and_setting_are_named_letter_for_letter(careful, shop):
    address, names = shop
    for number, name in names.items():
        if name.endswith((" b", " c")):
            continue  # the same text again
        text = name.removeprefix(f"{as_name(JOB)} · ")
        careful.goto(f"{address}/coupon?joint={number}")
        expect(careful.get_by_role("button", name="Judge and keep")).to_be_visible()
        careful.check()
        assert f"{as_name(text)} (" in shown(careful), name


def test_the_joints_of_a_job_are_named_letter_for_letter(careful, shop):
    careful.goto(shop[0])
    expect(careful.get_by_role("heading", name="Before welding", level=1)).to_be_visible()
    # The last thing drawn: what stands above it is there when this is.
    expect(careful.get_by_text(f"Released by {as_name(TEXTS[1])},").first).to_be_visible()
    careful.check()
    said = shown(careful)
    for text in TEXTS[:2]:
        assert as_name(text) in said
        assert f"Released by {as_name(text)}," in said


def test_the_people_of_the_shop_are_named_letter_for_letter(careful, shop):
    careful.goto(f"{shop[0]}/shop")
    careful.get_by_role("tab", name="People").click()
    careful.check()
    said = shown(careful)
    for text in TEXTS:
        assert f"{as_name(text)}: lead, no PIN" in said, text
