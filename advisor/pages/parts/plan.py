"""The coupon plan of a job: what goes to the bench, on the screen, on paper and as a file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import reduce
from html import escape
from itertools import zip_longest

import pandas as pd
import streamlit as st

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.plan import CouponKind, Plan, plan_coupons
from advisor.csv_cells import guarded_row
from advisor.language import ENGLISH, figure, language, msg, say, say_number, speaking
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.plain import plain
from advisor.pages.parts.units_choice import UnitChoice
from advisor.pages.session import Session
from advisor.store.log import Log
from advisor.store.releases import JointState
from advisor.weld.cautions import AT_THE_MACHINE, CURED, OUTRANKS
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState

_IN_A_FILE_NAME = re.compile(r"[^\w .-]+")
#: Messages for `say`.
SIZE = msg("Length and width: as the shop's test asks.")
_WHEN = {
    AdhesiveState.CURED: msg("{bond}: bond, leave to full cure before welding"),
    AdhesiveState.PART_CURED: msg("{bond}: bond, weld after the work time and before full cure"),
    AdhesiveState.WET: msg("{bond}: bond, weld within the work time"),
}
#: What has to be done to a face that the sheet does not bring along.
_TO_DO = {
    Surface.GROUND_BARE: msg("Grind to bare metal"),
    Surface.WELD_PRIMER: msg("Weld-through primer"),
}
_PRINT_STYLE = """
:root { color-scheme: light; }
body { font: 11pt/1.4 sans-serif; max-width: 48rem; margin: 1rem auto; }
h1 { font-size: 1.3rem; } h2 { font-size: 1.1rem; margin-bottom: .2rem; }
.card { border: 1px solid; padding: .4rem .8rem; margin: .6rem 0; break-inside: avoid; }
.state { font-weight: 700; font-size: 1.1rem; } ul { margin: .2rem 0; padding-left: 1.2rem; }
.small { font-size: .86rem; }
"""


@dataclass(frozen=True)
class Words:
    """What the plan is written with: one person's units and the labels of the shop's adhesives."""

    units: UnitChoice
    adhesives: Mapping[str, Adhesive]

    def thickness(self, value_mm: float) -> str:
        """Write a sheet thickness given in mm.

        Parameters
        ----------
        value_mm : float
            The thickness. [mm]
        """
        return self.units.show("thickness", value_mm)

    def sheet(self, sheet: Sheet) -> str:
        """Write a sheet without its faces."""
        parts = (self.thickness(sheet.thickness_mm), sheet.family.label, sheet.grade)
        return " ".join(part for part in parts if part)

    def label(self, name: str) -> str:
        """Write the label times of an adhesive, or that the shop has not entered them."""
        known = self.adhesives.get(name)
        if known is None:
            return say("label times of {adhesive} not entered (Shop set-up)", adhesive=name)
        return say(
            "label at {temperature}: work time {work}, full cure {cure}",
            temperature=self.units.show("temperature", known.label_degC),
            work=_span(known.work),
            cure=_span(known.cure),
        )


def show(session: Session, job: str, states: Sequence[JointState]) -> None:
    """Draw the coupon plan of a job from the states of all its joints."""
    log, now = session.log, datetime.now(UTC)
    joints = [(state.stored.joint, state.coverage) for state in states]
    benches = {name: log.bench(name) for name in {joint.machine for joint, _ in joints}}
    plan = plan_coupons(joints, benches, log.rules().coverage, now)
    written = Words(session.units, {adhesive.name: adhesive for adhesive in log.adhesives()})
    st.subheader(say("Coupons to weld"))
    for joint, obstacles in plan.blocked:
        reasons = "; ".join(each.text for each in obstacles)
        words = say(
            "No coupon can cover {joint} yet: {reasons}.", joint=joint.name, reasons=reasons
        )
        st.warning(plain(words))
    if not plan.kinds:
        if not plan.blocked:
            st.success(plain(say("Nothing: every joint of job {job} is covered.", job=job)))
        return
    st.write(summary(plan))
    st.html(bench_card(plan, written))
    for number, kind in enumerate(plan.kinds, start=1):
        st.html(kind_card(number, kind, written))
    printed = print_page(plan, written, job, now.astimezone(), _mark(log))
    files = {
        say("List to print"): ("html", printed),
        say("List as CSV"): ("csv", csv_text(plan, written.adhesives)),
    }
    with st.container(horizontal=True):
        for title, (ending, text) in files.items():
            name = f"coupons {_IN_A_FILE_NAME.sub('-', job)}.{ending}"
            st.download_button(title, text, name, f"text/{ending}", on_click="ignore")


def _mark(log: Log) -> str:
    if log.is_demo:
        return say("DEMO – an invented shop")
    return say("PRACTICE COPY") if log.is_copy else ""


def summary(plan: Plan) -> str:
    """Say how much is to be welded for how many joints."""
    joints = sum(len(kind.joints) for kind in plan.kinds)
    text = say(
        "{coupons} of {kinds} for {joints}; each must pass.",
        coupons=_coupons(plan.coupons),
        kinds=say_number("{number} kind", "{number} kinds", len(plan.kinds)),
        joints=say_number("{number} open joint", "{number} open joints", joints),
    )
    if not plan.covered:
        return text
    covered = say_number(
        "{number} joint covered already.", "{number} joints covered already.", len(plan.covered)
    )
    return f"{text} {covered}"


def bench_card(plan: Plan, words: Words) -> str:
    """Return the list for the bench, all kinds together, in the order of work."""
    sheets = sorted(plan.cuts.items(), key=lambda cut: (-cut[0].thickness_mm, cut[0].family))
    cuts = [f"{count} × {words.sheet(sheet)}, {_faces(sheet)}" for sheet, count in sheets]
    steps = [(say("Cut"), [*cuts, say(SIZE)])]
    steps += [(say(what), _with_face(plan, surface)) for surface, what in _TO_DO.items()]
    steps += [(say("Then, in this order"), list(_order(plan)))]
    body = "".join(
        f"<div><b>{escape(name)}</b>{bullets(lines)}</div>" for name, lines in steps if lines
    )
    head = escape(say("To the bench"))
    return f'<div class="card"><div class="state">{head}</div>{body}</div>'


def kind_card(number: int, kind: CouponKind, words: Words) -> str:
    """Return the card of one kind of coupon."""
    adhesives = dict.fromkeys(bond.adhesive for bond in kind.stack.bonds if bond.is_bonded)
    rows = [
        (say("For"), ", ".join(joint.name for joint in kind.joints)),
        (say("When"), "; ".join((_when(kind), *map(words.label, adhesives)))),
        (
            say("Machine"),
            say("{machine}, caps {caps}", machine=kind.machine, caps=kind.electrode.title()),
        ),
        (say("Setting"), _setting(kind)),
    ]
    body = "".join(f"<div><b>{escape(name)}:</b> {escape(text)}</div>" for name, text in rows)
    if kind.state is AdhesiveState.CURED:
        body += bullets((say(CURED_WITHOUT_TEST), say(CURED)))
    head = say(
        "Kind {kind}: {coupons}, {state}",
        kind=number,
        coupons=_coupons(kind.coupons),
        state=kind.state.label,
    )
    return (
        f'<div class="card trial"><div class="state">{escape(head)}</div>'
        f"{bullets(_layers(kind, words))}{body}</div>"
    )


def print_page(plan: Plan, words: Words, job: str, at: datetime, mark: str = "") -> str:
    """Return the plan as a page that prints well and loads nothing; `mark` stands over it."""
    title = escape(say("Coupons to weld, job {job}", job=job))
    cards = [kind_card(number, kind, words) for number, kind in enumerate(plan.kinds, start=1)]
    blocked = [
        say("No coupon can cover {joint} yet.", joint=joint.name) for joint, _ in plan.blocked
    ]
    return (
        f'<!doctype html><html lang="{language()}"><head><meta charset="utf-8">'
        f"<title>{title}</title><style>{_PRINT_STYLE}</style></head><body>"
        f"<p><b>{escape(mark)}</b></p><h1>{title}</h1>"
        f"<p>{figure(at, '%Y-%m-%d %H:%M')}. {escape(summary(plan))}</p>{bullets(blocked)}"
        f"{bench_card(plan, words)}{''.join(cards)}"
        f'{bullets(map(say, AT_THE_MACHINE))}<p class="small">{escape(say(OUTRANKS))}</p>'
        "</body></html>"
    )


def csv_text(plan: Plan, adhesives: Mapping[str, Adhesive]) -> str:
    """Return the plan as CSV, one row a sheet, units in the column names."""
    with speaking(ENGLISH):
        rows = [
            guarded_row(row)
            for number, kind in enumerate(plan.kinds, start=1)
            for row in _csv_rows(number, kind, adhesives)
        ]
    return pd.DataFrame(rows).to_csv(index=False)


def _csv_rows(
    number: int, kind: CouponKind, adhesives: Mapping[str, Adhesive]
) -> Iterable[dict[str, object]]:
    for n, (sheet, bond) in enumerate(zip_longest(kind.stack.sheets, kind.stack.bonds), start=1):
        known = adhesives.get(bond.adhesive) if bond else None
        yield {
            "kind": number,
            "coupons": kind.coupons,
            "machine": kind.machine,
            "cap_shape": kind.electrode.shape.value,
            "face_mm": kind.electrode.face_mm,
            "sheet": n,
            "pieces": kind.coupons,
            "thickness_mm": sheet.thickness_mm,
            "family": sheet.family.value,
            "grade": sheet.grade,
            "upper": sheet.upper.value,
            "lower": sheet.lower.value,
            "adhesive_below": bond.adhesive if bond else "",
            "state_below": bond.state.value if bond else "",
            "work_shortest_min": known.work.low_min if known else "",
            "cure_longest_min": known.cure.high_min if known else "",
            "label_degC": known.label_degC if known else "",
            "setting": _setting(kind),
            "joints": "; ".join(joint.name for joint in kind.joints),
        }


def _coupons(number: int) -> str:
    return say_number("{number} coupon", "{number} coupons", number)


def _span(span: Span) -> str:
    """Write a label's time range, from two hours on in hours."""
    low, high, unit = span.low_min, span.high_min, "min"
    if low >= 120:
        low, high, unit = low / 60, high / 60, "h"
    ends = [figure(end, "g") for end in dict.fromkeys((low, high))]
    return f"{'–'.join(ends)} {unit}"


def _faces(sheet: Sheet) -> str:
    if sheet.upper is sheet.lower:
        return say("both faces {face}", face=sheet.upper.label)
    return say("one face {one}, the other {other}", one=sheet.upper.label, other=sheet.lower.label)


def _with_face(plan: Plan, surface: Surface) -> list[str]:
    """Say how many faces are to be brought to a surface."""
    faces = sum(n * (s.upper, s.lower).count(surface) for s, n in plan.cuts.items())
    if not faces:
        return []
    return [
        say_number("{number} face of the sheets above", "{number} faces of the sheets above", faces)
    ]


def _layers(kind: CouponKind, words: Words) -> Iterable[str]:
    """Return the stack in a line a sheet, top to bottom, the adhesive between them."""
    for sheet, bond in zip_longest(kind.stack.sheets, kind.stack.bonds):
        yield f"{kind.coupons} × {words.sheet(sheet)}, {_upper_and_lower(sheet)}"
        if bond and bond.is_bonded:
            yield say("between: {bond}", bond=bond)


def _upper_and_lower(sheet: Sheet) -> str:
    upper, lower = sheet.upper.label, sheet.lower.label
    if upper == lower:
        return say("both faces {face}", face=upper)
    return say("upper face {upper}, lower {lower}", upper=upper, lower=lower)


def _order(plan: Plan) -> Iterable[str]:
    for number, kind in enumerate(plan.kinds, start=1):
        yield say(
            "Kind {kind}, {coupons}: {when}.",
            kind=number,
            coupons=_coupons(kind.coupons),
            when=_when(kind),
        )


def _when(kind: CouponKind) -> str:
    """Say what to bond and when to weld, the bond that has to wait longest first."""
    bonds = dict.fromkeys(bond for bond in kind.stack.bonds if bond.is_bonded)
    steps = [say(_WHEN[state], bond=b) for state in _WHEN for b in bonds if b.state is state]
    if not steps:
        return say("no adhesive: weld at any time")
    return reduce(lambda first, then: say("{first}; then {then}", first=first, then=then), steps)


def _setting(kind: CouponKind) -> str:
    if not kind.continues:
        return say("see page Next setting")
    numbers = ", ".join(f"#{each.number}" for each in kind.continues)
    return say(
        "that of {numbers}, counted already; at another setting the count starts again",
        numbers=numbers,
    )
