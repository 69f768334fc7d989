"""The look: one style sheet, and the palette that charts share.

States are told by word and shape as well as by colour; blue and vermilion stay apart for
colour-blind eyes (Okabe and Ito's pair, darkened for contrast).
"""

import streamlit as st

ACCENT, GOOD, BAD = "#0f5a63", "#0b4f8a", "#a63a00"

_STYLE = """
<style>
:root { --ink:#1b2430; --soft:#4a5563; --line:#d5cfc2; --card:#ffffff;
        --good:#0b4f8a; --bad:#a63a00; --doubt:#6b5200; --accent:#0f5a63; }
.block-container, [data-testid="stMainBlockContainer"] { padding-top: 4.2rem; max-width: 62rem; }
h1 { font-size: 1.7rem !important; padding-bottom: .2rem !important; }
h2 { font-size: 1.25rem !important; } h3 { font-size: 1.05rem !important; }
/* gloved hands: nothing to press is lower than 48 px */
.stButton button, .stFormSubmitButton button, .stDownloadButton button,
[data-testid="stPopoverButton"], [data-testid="stButtonGroup"] button,
[data-testid="stExpandSidebarButton"], [data-testid="stNumberInputStepDown"],
[data-testid="stNumberInputStepUp"], [data-testid="stExpander"] summary,
[data-testid="stTab"], [data-testid="stNumberInputContainer"],
[data-testid="stTextInputRootElement"], [data-baseweb="select"] > div,
[data-testid="stCheckbox"] label, [data-testid="stRadio"] label { min-height: 48px; }
[data-testid="stCheckbox"] label, [data-testid="stRadio"] label { align-items: center; }
[data-testid="stNumberInputStepDown"], [data-testid="stNumberInputStepUp"],
[data-testid="stExpandSidebarButton"] { min-width: 48px; }
[data-testid="stTopNavLink"], [data-testid="stSidebarNavLink"] { min-height: 44px; }
[data-testid="stCaptionContainer"] { color: #4a5563 !important; opacity: 1 !important; }
[data-testid="stCaptionContainer"] p { color: #4a5563; }
/* rows that stay side by side on a phone; there the steppers give way to the number */
[class*="st-key-row-"] [data-testid="stHorizontalBlock"] { flex-wrap: nowrap; gap: .6rem; }
[class*="st-key-row-"] [data-testid="stColumn"] { min-width: 0; flex: 1 1 0; }
@media (max-width: 640px) {
  [class*="st-key-row-"] [data-testid="stNumberInputStepDown"],
  [class*="st-key-row-"] [data-testid="stNumberInputStepUp"] { display: none; }
}
[data-testid="stNumberInput"] input { font-size: 1.35rem; font-weight: 650;
    font-variant-numeric: tabular-nums; min-width: 3.5rem; }
[data-testid="stNumberInputContainer"], [data-testid="stTextInputRootElement"] { height: auto; }
.card { background: var(--card); border: 1px solid var(--line); border-radius: 6px;
        padding: .8rem 1rem; margin: .15rem 0 .5rem; color: var(--ink); line-height: 1.4; }
.card .small { color: var(--soft); font-size: .86rem; }
.card ul { margin: .3rem 0 .1rem; padding-left: 1.2rem; }
.card .name { font-weight: 650; }
.state { display: flex; align-items: center; gap: .6rem; font-weight: 750; font-size: 1.15rem; }
.state .mark { display: inline-flex; width: 2rem; height: 2rem; flex: none; font-size: 1.1rem;
        align-items: center; justify-content: center; color: #fff; }
.good { border-left: 10px solid var(--good); } .good .mark { background: var(--good);
        border-radius: 50%; } .good .state { color: var(--good); }
.bad { border-left: 10px double var(--bad); } .bad .mark { background: var(--bad); }
.bad .state { color: var(--bad); }
.doubt { border-left: 10px dotted var(--doubt); } .doubt .mark { background: var(--doubt);
        transform: rotate(45deg); } .doubt .mark span { transform: rotate(-45deg); }
.doubt .state { color: var(--doubt); }
.loud { background: #a63a00; border: 0; color: #fff; position: relative; padding-left: 2.4rem; }
.loud::before { content: ""; position: absolute; inset: 0 auto 0 0; width: 1.5rem;
        border-radius: 6px 0 0 6px; background: repeating-linear-gradient(135deg, #fff 0 8px,
        #1b2430 8px 18px); }
.loud .state { color: #fff; font-size: 1.45rem; text-transform: uppercase; letter-spacing: .02em; }
.loud .mark { background: #1b2430; } .loud .small { color: #fff; }
.dials { display: grid; grid-template-columns: repeat(auto-fit, minmax(7.2rem, 1fr)); gap: .6rem;
        margin: .4rem 0; }
.dials div { border-top: 3px solid var(--ink); padding-top: .25rem; }
.dials b { display: block; font-size: 2.1rem; line-height: 1.15;
        font-variant-numeric: tabular-nums; white-space: nowrap; }
.dials b i { font-style: normal; font-size: 1.05rem; font-weight: 600; }
.dials span { color: var(--soft); font-size: .86rem; }
.ribbon { background: #1b2430; color: #ffd24a; font-weight: 700; padding: .35rem .9rem;
        border-radius: 6px; margin-bottom: .3rem; }
.clocks > div { background: var(--card); border: 1px solid var(--line); border-radius: 6px;
        padding: .35rem .8rem; margin-bottom: .25rem; color: var(--ink); }
.clocks .good { border-left: 10px solid var(--good); }
.clocks .doubt { border-left: 10px dotted var(--doubt); }
.clocks .bad { border-left: 10px double var(--bad); }
.fence { border-top: 1px solid var(--line); color: var(--soft); font-size: .86rem;
        padding-top: .5rem; margin-top: 1.2rem; }
.card.trial { border: 2px dashed var(--soft); }
.tag { background: #ffd24a; color: #1b2430; font-weight: 750; padding: .1rem .5rem;
        border-radius: 4px; text-transform: uppercase; letter-spacing: .03em; font-size: .86rem; }
[data-testid="stAlertContainer"] { background: #fff !important; color: #1b2430 !important;
        border: 1px solid var(--line); border-left: 10px solid var(--accent); border-radius: 6px; }
[data-testid="stAlertContainer"] p { color: #1b2430 !important; }
[data-testid="stAlertContainer"]:has([data-testid="stAlertContentError"]) {
        border-left: 10px double var(--bad); font-weight: 600; }
[data-testid="stAlertContainer"]:has([data-testid="stAlertContentWarning"]) {
        border-left: 10px dotted var(--doubt); }
.st-key-daily { display: none; }
@media (max-width: 640px) {
  .st-key-daily { display: flex; position: fixed; left: 0; right: 0; bottom: 0; z-index: 99;
        background: #1b2430; padding: .3rem .6rem; justify-content: space-around; }
  .st-key-daily { flex-wrap: nowrap !important; gap: .2rem; }
  .st-key-daily > div { flex: 1 1 0; min-width: 0; width: auto !important; }
  .st-key-daily a { min-height: 48px; justify-content: center; }
  .st-key-daily a p, .st-key-daily a span { color: #fff !important; font-weight: 700; }
  [data-testid="stMainBlockContainer"] { padding-bottom: 6rem; }
  .dials { grid-template-columns: repeat(3, 1fr); } .dials b { font-size: 1.6rem; }
}
@media print { header, [data-testid="stSidebar"], .stButton, .stPopover { display: none; } }
</style>
"""


def dress_page() -> None:
    """Put the style sheet on the page."""
    st.html(_STYLE)
