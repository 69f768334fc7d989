"""A real server and a real Chromium; skipped, with the reason, where there is no Chromium."""

import os
import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest
from app_server import serving, serving_demo

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
TABLET = {"width": 820, "height": 1180}
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium():
    """Path of a Chromium on this machine."""
    found = os.environ.get("ADVISOR_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        pytest.skip(
            "browser: no Chromium found (install Debian's chromium, or set ADVISOR_CHROMIUM)"
        )
    return found


@pytest.fixture(scope="session")
def browser(chromium):
    from playwright.sync_api import expect, sync_playwright

    # A busy machine may take longer than the usual five seconds to draw a page.
    expect.set_options(timeout=20_000)
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def seen_demo(tmp_path_factory, chromium):
    """Address of a demo shop for all who only look: no test writes a coupon there."""
    with serving_demo(tmp_path_factory.mktemp("seen")) as address:
        yield address


@pytest.fixture(scope="session")
def judged_demo(tmp_path_factory, chromium):
    """Address of a demo shop for all who look at a verdict, which logs a coupon first."""
    with serving_demo(tmp_path_factory.mktemp("judged")) as address:
        yield address


@pytest.fixture
def app(tmp_path):
    """Address of an app with an empty log."""
    with serving(tmp_path) as address:
        yield address


@contextmanager
def new_tab(browser):
    """Open a tab at tablet size that collects every request that leaves this machine."""
    context = browser.new_context(viewport=TABLET, locale="en-GB")
    context.set_default_timeout(20_000)
    tab = context.new_page()
    tab.outside = []
    tab.on(
        "request",
        lambda r: (
            None
            if "127.0.0.1" in r.url or r.url.startswith(("data:", "blob:"))
            else tab.outside.append(r.url)
        ),
    )
    yield tab
    context.close()


@pytest.fixture
def page(browser):
    """A fresh tab."""
    with new_tab(browser) as tab:
        yield tab


@pytest.fixture(scope="session")
def one_tab(browser):
    with new_tab(browser) as tab:
        yield tab


@pytest.fixture
def same_page(one_tab):
    """The same tab for all who only look: a fresh one takes three times as long to open a page."""
    one_tab.outside.clear()
    one_tab.set_viewport_size(TABLET)
    yield one_tab
    one_tab.goto("about:blank")
