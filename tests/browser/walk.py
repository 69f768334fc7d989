"""Walk the app as each of its three people and picture every step.

``python tests/browser/walk.py FOLDER [--widths 390,820,1280] [--schemes light,dark] [--who lead]``

A technician, a lead and a trainer, each on the demo shop and on an empty shop of their own. Prints
a walk's taps, numbers typed and seconds, and what is wrong on a step: an exception shown, a page
wider than the screen, a request that leaves the machine. The pictures are for looking at.
"""

import argparse
import re
import shutil
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

#: Taller than any page, so that a picture holds all of it.
_MOST = 9000


@dataclass
class Walker:
    """One person at one screen; counts what the hand does."""

    page: object
    address: str
    folder: Path
    name: str
    width: int
    taps: int = 0
    numbers: int = 0
    seconds: float = 0.0
    steps: int = 0
    wrong: list[str] = field(default_factory=list)

    def open(self, path):
        self._timed(lambda: self.page.goto(f"{self.address}/{path}"))

    def tap(self, role, name, nth=0, exact=True):
        found = self.page.get_by_role(role, name=name, exact=exact).nth(nth)
        self._timed(found.click)
        self.taps += 1

    def tap_text(self, words):
        self._timed(self.page.get_by_text(words, exact=True).first.click)
        self.taps += 1

    def go_to(self, name):
        """Follow a name of the navigation, which a phone folds away; what was said is gone then."""
        self.page.get_by_test_id("stToast").first.wait_for(state="hidden")
        link = self.page.get_by_role("link", name=name, exact=True).first
        unfold = self.page.get_by_test_id("stExpandSidebarButton").first
        if unfold.is_visible():
            unfold.click()
            self.taps += 1
        self._timed(link.click)
        self.taps += 1

    def type(self, label, value, nth=0):
        box = self.page.get_by_label(re.compile("^" + re.escape(label))).nth(nth)
        box.click()
        self._timed(lambda: (box.fill(str(value)), box.press("Enter")))
        self.taps += 1
        self.numbers += isinstance(value, int | float)

    def see(self, step):
        """Picture the whole page, and look for what must not be."""
        page = self.page
        self.steps += 1
        if page.get_by_test_id("stException").count():
            self.wrong.append(f"{step}: {page.get_by_test_id('stException').first.inner_text()}")
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > self.width:
            self.wrong.append(f"{step}: {wide} px wide")
        height = page.evaluate(
            "Math.max(...[...document.querySelectorAll('[data-testid=stMain], [role=dialog]')]"
            ".map(each => each.scrollHeight), 600)"
        )
        page.set_viewport_size({"width": self.width, "height": min(height + 40, _MOST)})
        page.wait_for_timeout(400)
        page.screenshot(path=self.folder / f"{self.name}-{self.steps:02}-{step}.png")
        page.set_viewport_size({"width": self.width, "height": 1100})
        page.wait_for_timeout(200)

    def _timed(self, act):
        begin = time.perf_counter()
        act()
        self.page.wait_for_timeout(150)
        # In one go, because a page holds no text that may run.
        self.page.locator('[data-testid="stApp"][data-test-script-state="notRunning"]').wait_for()
        self.page.get_by_role("heading", level=1).first.wait_for()
        self.seconds += time.perf_counter() - begin


def _log(walk, smallest, largest):
    """A coupon of the setting that stands there, to its verdict and back."""
    walk.type("Smallest ⌀", smallest)
    walk.type("Largest ⌀", largest)
    walk.tap("radio", "button pulled")
    walk.tap("button", "Judge and keep")
    walk.page.get_by_role("dialog").wait_for()
    walk.see("verdict")
    walk.tap("button", "Same setting again")


REVIEW = ("Pass rates", "Drift", "Failures", "Evidence", "Week on paper")
CLASS = ("Side by side", "Practice bench", "Published starts")


def _views(walk, names):
    for name in names:
        walk.tap_text(name)
        walk.see(name.lower().replace(" ", "-"))


def _views_and_books(walk):
    """The views of the review, then the pages of whoever keeps the books."""
    _views(walk, REVIEW)
    walk.go_to("Shop set-up")
    for tab in ("Machines", "Adhesives", "Rules", "People"):
        walk.tap("tab", tab)
        walk.see(f"shop-{tab.lower()}")
    walk.go_to("Files")
    walk.see("files")


# --- the demo shop ------------------------------------------------------------------------------


def technician(walk):
    walk.open("?shop=demo&who=Ilka+Brandvik&job=D-1041")
    walk.see("before-welding")
    walk.tap("button", "Log a coupon for this joint", nth=1)
    walk.see("coupon")
    _log(walk, 4.6, 5.0)
    walk.go_to("Next setting")
    walk.see("next-setting")
    walk.go_to("Weld layout")
    walk.see("layout")


def lead(walk):
    walk.open("review?shop=demo&who=Ilka+Brandvik")
    walk.see("needs-you")
    _views_and_books(walk)


def trainer(walk):
    walk.open("class?shop=demo&who=Ilka+Brandvik&lesson=Worn+caps")
    walk.see("question")
    walk.type("The class says: size", 5)
    walk.tap_text("Reveal")
    walk.page.get_by_text("The point", exact=True).wait_for(timeout=60_000)
    walk.see("revealed")
    _views(walk, CLASS)


# --- a shop of one's own --------------------------------------------------------------------------


def _start(walk):
    walk.open("")
    walk.see("welcome")
    walk.type("Your name", "Sam Bench")
    walk.type("Machine", "Bay gun")
    walk.type("Largest current [kA]", 13)
    walk.type("Largest force [kN]", 5)
    walk.tap("radio", "50")
    walk.type("Cap face diameter [mm]", 6)
    walk.tap("button", "Start the log")
    walk.page.get_by_role("heading", name="Before welding").wait_for()


def new_technician(walk):
    _start(walk)
    walk.see("before-welding")
    for name in ("Log a coupon", "Next setting", "Weld layout"):
        walk.go_to(name)
        walk.see(name.lower().replace(" ", "-"))
    walk.go_to("Shop set-up")
    walk.tap("tab", "Adhesives")
    walk.see("adhesives")
    walk.type("Name on the cartridge", "Test epoxy")
    for words, low, high in (
        ("Work time", 40, 50),
        ("Clamps may come off after", 90, 120),
        ("Full cure", 24, 24),
    ):
        walk.type(f"{words}, from", low)
        walk.type(f"{words}, to", high)
    walk.tap("button", "Keep the adhesive")
    walk.go_to("Before welding")
    walk.type("Repair-order number", "RO-1")
    walk.type("Where it is", "Sill, left")
    walk.type("Sheet 1 [mm]", 1.2)
    walk.type("Sheet 2 [mm]", 1.0)
    walk.tap("radio", "wet")
    walk.see("joint-typed")
    walk.tap("button", "Add the joint")
    walk.see("joint-added")
    walk.go_to("Log a coupon")
    for _ in range(2):
        _log(walk, 4.4, 4.8)
    walk.go_to("Before welding")
    walk.see("covered")


def new_lead(walk):
    _start(walk)
    walk.go_to("Review")
    walk.see("needs-you")
    _views_and_books(walk)


def new_trainer(walk):
    _start(walk)
    walk.go_to("Class")
    walk.see("lessons")
    _views(walk, CLASS)


DEMO = (technician, lead, trainer)
EMPTY = (new_technician, new_lead, new_trainer)


def main():
    from app_server import serving, serving_demo
    from conftest import FLAGS, NAMES
    from playwright.sync_api import sync_playwright

    asked = _asked()
    asked.folder.mkdir(parents=True, exist_ok=True)
    chromium = next(filter(None, map(shutil.which, NAMES)))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        for scheme in asked.schemes.split(","):
            for width in map(int, asked.widths.split(",")):
                for path in (*DEMO, *EMPTY):
                    if asked.who and path.__name__ not in asked.who.split(","):
                        continue
                    serve = serving_demo if path in DEMO else serving
                    with tempfile.TemporaryDirectory() as data, serve(Path(data)) as address:
                        _walked(browser, address, asked.folder, path, width, scheme)
        browser.close()


def _asked():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--widths", default="390,820,1280")
    parser.add_argument("--schemes", default="light,dark")
    parser.add_argument("--who", default="")
    return parser.parse_args()


def _walked(browser, address, folder, path, width, scheme):
    context = browser.new_context(
        viewport={"width": width, "height": 1100}, color_scheme=scheme, locale="en-GB"
    )
    context.set_default_timeout(15_000)
    page = context.new_page()
    name = f"{path.__name__}-{width}-{scheme}"
    walk = Walker(page, address, folder, name, width)
    local = ("http://127.0.0.1", "data:", "blob:", "ws://127.0.0.1")
    page.on("request", lambda r: r.url.startswith(local) or walk.wrong.append(f"asked {r.url}"))
    try:
        path(walk)
    except Exception as error:
        page.screenshot(path=folder / f"{name}-stuck.png", full_page=True)
        walk.wrong.append(f"stuck: {str(error)[:1500]}")
    print(
        f"{name}: {walk.steps} pictures, {walk.taps} taps, {walk.numbers} numbers, "
        f"{walk.seconds:.1f} s",
        *walk.wrong,
        sep="\n    ",
        flush=True,
    )
    context.close()


if __name__ == "__main__":
    main()
