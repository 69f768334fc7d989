"""What the bands and lines of a section through a weld mean, as HTML."""

from __future__ import annotations

from html import escape

from advisor.language import msg, say
from advisor.pages.parts.weld_picture import BANDS, COLOURS

#: Lines of the drawing by their class in the style below.
_LINES = (
    ("melt-now", msg("edge of the melt now")),
    ("melt-most", msg("its largest so far")),
    ("zinc-face", msg("face with zinc")),
)
_STYLE = """
<style>
.heat-bands { display: flex; flex-wrap: wrap;
  gap: .2rem 1rem; font-size: .86rem; color: var(--soft); }
.heat-bands div { display: flex; align-items: center; gap: .4rem; }
.heat-bands span { width: 1.1rem; height: 1.1rem; border: 1px solid var(--edge); }
.heat-bands i { display: flex; align-items: center; width: 1.8rem; height: 1.1rem;
  background: var(--steel); border: 1px solid var(--edge); }
.heat-bands i::before { content: ""; flex: 1; border-top: 3px solid var(--on-steel); }
.heat-bands i.melt-most::before { border-top-style: dashed; }
.heat-bands i.zinc-face::before { border-top: 5px double var(--on-steel); }
</style>
"""


def legend() -> str:
    """Return what the bands and lines mean, as HTML."""
    upper = [*(each for each, _ in BANDS[1:]), None]
    bands = (
        (f'<span style="background:{colour}"></span>', _band_words(words, low, end))
        for colour, (low, words), end in zip(COLOURS, BANDS, upper, strict=True)
    )
    lines = ((f'<i class="{kind}"></i>', say(words)) for kind, words in _LINES)
    each = "".join(
        f'<div role="listitem">{drawn}{escape(words)}</div>' for drawn, words in (*bands, *lines)
    )
    return f'<div class="heat-bands" role="list">{each}</div>{_STYLE}'


def _band_words(words: str, low: float, high: float | None) -> str:
    if high is None:
        return say("{what}, above {low:.0f} °C", what=say(words), low=low)
    return say("{what}, {low:.0f} to {high:.0f} °C", what=say(words), low=low, high=high)
