"""What the tests of the pages share: opening one, filling it in, and reading what it says."""

import re

from streamlit.testing.v1 import AppTest

from advisor.weld.failure import FailureType
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

GROUND = Surface.GROUND_BARE
EPOXY = "Test epoxy"


def stack(*thicknesses, state=AdhesiveState.NONE, family=SteelFamily.LOW_CARBON):
    bond = Bond(EPOXY, state) if state is not AdhesiveState.NONE else Bond()
    sheets = tuple(Sheet(t, family, GROUND, GROUND) for t in thicknesses)
    return Stack(sheets, (bond,) * (len(thicknesses) - 1))


def opened(page):
    script = f"from advisor.pages.shell import run\nrun({page!r})"
    app = AppTest.from_string(script, default_timeout=30).run()
    assert not app.exception
    return app


def told(app):
    assert not app.exception
    return [element.value for element in (*app.error, *app.warning, *app.info)]


def html(app):
    """All that the page says in HTML of its own."""
    assert not app.exception
    return " ".join(element.body for element in app.get("html"))


def tables(app):
    """The tables of the page, row by row: what stands under each head."""
    found = []
    for table in re.findall(r"<table>.*?</table>", html(app), re.DOTALL):
        heads = re.findall(r"<th(?: [^>]*)?>(.*?)</th>", table)
        rows = [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr>.*?</tr>", table)]
        found.append([dict(zip(heads, row, strict=True)) for row in rows if row])
    return found


def box(app, words, nth=0):
    return [n for n in app.number_input if n.label.startswith(words)][nth]


def press(app, words):
    button = next(b for b in app.button if b.label == words)
    button.click().run()
    assert not app.exception


def fill_coupon(app, small=4.4, large=4.8, failure=FailureType.BUTTON):
    box(app, "Smallest").set_value(small)
    box(app, "Largest").set_value(large)
    how = next(g for g in app.button_group if g.label == "How it failed")
    how.set_value(failure)
