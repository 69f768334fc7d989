"""The document of a page speaks the browser's language and brings the script of the boxes."""

import re
from pathlib import Path

import pytest
import streamlit as st
from gate_helpers import Door
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from advisor.pages import document
from advisor.pages.document import SCRIPT, Document

BEHIND = "streamlit"


@pytest.fixture
def door():
    async def behind(_):
        return PlainTextResponse(BEHIND)

    routes = [Route("/{path:path}", behind, methods=["GET", "POST"])]
    return Door(Starlette(routes=routes, middleware=[Middleware(Document)]))


@pytest.mark.parametrize(("asked", "lang"), [("", "en"), ("de-AT,de;q=0.9", "de"), ("xx", "en")])
@pytest.mark.parametrize("path", ["/", "/coupon", "/class?view=Lessons"])
def test_a_page_s_document_says_its_language(door, path, asked, lang):
    answer = door.get(path, **{"accept-language": asked})
    assert f'<html lang="{lang}">' in answer.body
    assert answer.body.count(f'src="{SCRIPT}"') == 1
    assert "<title>Streamlit</title>" not in answer.body
    assert "Accept-Language" in answer.headers["vary"]


def test_all_else_of_the_document_is_streamlit_s():
    theirs = (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
    ours = document.html("en")
    ours = ours.replace(f'<script src="{SCRIPT}" defer></script>', "")
    ours = re.sub("<title>.*?</title>", "<title>Streamlit</title>", ours)
    assert ours == theirs


@pytest.mark.parametrize("path", ["/static/js/a.js", "/_stcore/health", "/favicon.png", "/a/b"])
def test_what_is_no_page_is_left_to_streamlit(door, path):
    assert door.get(path).body == BEHIND


def test_what_is_sent_to_a_page_is_left_to_streamlit(door):
    assert door.post("/coupon", {}).body == BEHIND


def test_the_script_is_sent_once_and_asked_for_again(door):
    first = door.get(SCRIPT)
    assert first.headers["content-type"].startswith("text/javascript")
    again = door.get(SCRIPT, **{"if-none-match": first.headers["etag"]})
    assert (again.status, again.body) == (304, "")
