"""The page that asks for name and PIN: HTML of its own, without a script and without a request."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from string import Template

from advisor.language import language, say
from advisor.pages.parts.palette import followed

_STYLE = (
    followed()
    + """
*{box-sizing:border-box}
html{font:112.5%/1.45 system-ui,"Segoe UI",Roboto,"Noto Sans",sans-serif;color:var(--ink);
background:var(--ground)}
body{margin:0;min-height:100vh;min-height:100svh;display:flex;flex-direction:column;
align-items:center;padding:1.2rem 1rem}
main{width:100%;max-width:25rem;margin:auto 0;background:var(--surface);
border:1px solid var(--line);border-top:6px solid var(--accent);border-radius:4px;
padding:1.5rem 1.4rem 1.6rem}
.shop{margin:0;color:var(--soft);font-weight:650}
h1{margin:0 0 1.1rem;font-size:1.728rem;font-weight:800;line-height:1.2}
label{display:block;margin:1rem 0 .3rem;font-weight:650}
input{width:100%;min-height:56px;padding:.4rem .8rem;font:inherit;font-size:1.25rem;
color:inherit;background:var(--field);border:2px solid var(--edge);border-radius:4px}
#pin{letter-spacing:.25em}
button{width:100%;min-height:60px;margin-top:1.5rem;font:inherit;font-size:1.2rem;
font-weight:750;color:var(--on-accent);background:var(--accent);border:2px solid var(--accent);
border-radius:4px;cursor:pointer}
button:hover{border-color:var(--ink)}
input:focus-visible,button:focus-visible{outline:3px solid var(--ink);outline-offset:2px;
box-shadow:0 0 0 2px var(--signal)}
.said{margin:0 0 .4rem;padding:.7rem .9rem;border:1px solid var(--line);
border-left:10px double var(--bad);border-radius:4px;font-weight:600;overflow-wrap:anywhere}
.small{margin:1.1rem 0 0;color:var(--soft);font-size:.833rem}
@media(max-width:640px){main{margin:0}}
"""
)
_DIGEST = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
#: What a browser may do with these pages: show them and send their form back, nothing else.
POLICY = (
    f"default-src 'none'; style-src 'sha256-{_DIGEST}'; img-src data:; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)

_PAGE = Template("""<!DOCTYPE html>
<html lang="$language">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<link rel="icon" href="data:,">
<title>$title – $shop</title>
<style>$style</style>
</head>
<body>
<main>
<p class="shop">$shop</p>
<h1>$title</h1>
$content
</main>
</body>
</html>
""")

_FORM = Template("""$said<form method="post" action="/sign-in">
<input type="hidden" name="next" value="$target">
<label for="name">$your_name</label>
<input id="name" name="name" value="$name" maxlength="200" required autocomplete="username"
 autocapitalize="words" autocorrect="off" spellcheck="false"$focus_name>
<label for="pin">$pin</label>
<input id="pin" name="pin" type="password" inputmode="numeric" maxlength="64" required
 autocomplete="current-password"$describe$focus_pin>
<button>$sign_in</button>
</form>
<p class="small">$forgotten</p>""")


def form(name: str = "", target: str = "/", said: str = "") -> str:
    """Return the page that asks for name and PIN.

    Parameters
    ----------
    name : str
        The name to offer; the one who signed in last on this device.
    target : str
        Where to go afterwards, a path of this server.
    said : str
        Why the last try was refused.
    """
    content = _FORM.substitute(
        said=_said(said) if said else "",
        target=escape(target),
        name=escape(name),
        describe=' aria-describedby="said"' if said else "",
        focus_name="" if name else " autofocus",
        focus_pin=" autofocus" if name else "",
        your_name=_words(say("Your name")),
        pin=_words(say("PIN")),
        sign_in=_words(say("Sign in")),
        forgotten=_words(
            say("No PIN, or forgotten? A lead gives you a new one under Shop set-up.")
        ),
    )
    return _page(say("Sign in"), content)


def notice(sentence: str) -> str:
    """Return a page that says one thing.

    Parameters
    ----------
    sentence : str
        What it says.
    """
    return _page(say("Closed"), _said(sentence))


def _page(title: str, content: str) -> str:
    return _PAGE.substitute(
        language=language(),
        title=_words(title),
        shop=_words(say("Weld coupons")),
        style=_STYLE,
        content=content,
    )


def _words(text: str) -> str:
    return escape(text, quote=False)


def _said(sentence: str) -> str:
    text = escape(sentence[:1].upper() + sentence[1:])
    return f'<p class="said" role="alert" id="said">{text}</p>\n'
