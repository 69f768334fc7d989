"""The coupon plan of a job: what goes to the bench, on the screen, on paper and as a file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape
from itertools import zip_longest

import pandas as pd
import streamlit as st

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coverage import CURED_WITHOUT_TEST
from advisor.coupons.plan import CouponKind, Plan, plan_coupons
from advisor.csv_cells import guarded_row
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.plain import plain
from advisor.pages.parts.units_choice import UnitChoice
from advisor.pages.session import Session
from advisor.store.releases import JointState
from advisor.weld.cautions import AT_THE_MACHINE, CURED, OUTRANKS
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState

_IN_A_FILE_NAME = re.compile(r"[^\w .-]+")
SIZE = "Length and width: as the shop's test asks."
_WHEN = {
    AdhesiveState.CURED: "bond, leave to full cure before welding",
    AdhesiveState.PART_CURED: "bond, weld after the work time and before full cure",
    AdhesiveState.WET: "bond, weld within the work time",
}
#: What has to be done to a face that the sheet does not bring along.
_TO_DO = {Surface.GROUND_BARE: "Grind to bare metal", Surface.WELD_PRIMER: "Weld-through primer"}
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
        """Write a sheet thickness given in mm."""
        return self.units.show("thickness", value_mm)

    def sheet(self, sheet: Sheet) -> str:
        """Write a sheet without its faces."""
        parts = (self.thickness(sheet.thickness_mm), sheet.family.label, sheet.grade)
        return " ".join(part for part in parts if part)

    def label(self, name: str) -> str:
        """Write the label times of an adhesive, or that the shop has not entered them."""
        known = self.adhesives.get(name)
        if known is None:
            return f"label times of {name} not entered (Shop set-up)"
        at = self.units.show("temperature", known.label_degC)
        return f"label at {at}: work time {_span(known.work)}, full cure {_span(known.cure)}"


def show(session: Session, job: str, states: Sequence[JointState]) -> None:
    """Draw the coupon plan of a job from the states of all its joints."""
    log, now = session.log, datetime.now(UTC)
    joints = [(state.stored.joint, state.coverage) for state in states]
    benches = {name: log.bench(name) for name in {joint.machine for joint, _ in joints}}
    plan = plan_coupons(joints, benches, log.rules().coverage, now)
    words = Words(session.units, {adhesive.name: adhesive for adhesive in log.adhesives()})
    st.subheader("Coupons to weld")
    for joint, obstacles in plan.blocked:
        reasons = "; ".join(each.text for each in obstacles)
        st.warning(plain(f"No coupon can cover {joint.name} yet: {reasons}."))
    if not plan.kinds:
        if not plan.blocked:
            st.success(plain(f"Nothing: every joint of job {job} is covered."))
        return
    st.write(summary(plan))
    st.html(bench_card(plan, words))
    for number, kind in enumerate(plan.kinds, start=1):
        st.html(kind_card(number, kind, words))
    mark = "DEMO – an invented shop" if log.is_demo else "PRACTICE COPY" if log.is_copy else ""
    files = {
        "List to print": ("html", print_page(plan, words, job, now.astimezone(), mark)),
        "List as CSV": ("csv", csv_text(plan, words.adhesives)),
    }
    with st.container(horizontal=True):
        for title, (ending, text) in files.items():
            name = f"coupons {_IN_A_FILE_NAME.sub('-', job)}.{ending}"
            st.download_button(title, text, name, f"text/{ending}", on_click="ignore")


def summary(plan: Plan) -> str:
    """Say how much is to be welded for how many joints."""
    joints = sum(len(kind.joints) for kind in plan.kinds)
    text = (
        f"{_count(plan.coupons, 'coupon')} of {_count(len(plan.kinds), 'kind')} for "
        f"{_count(joints, 'open joint')}; each must pass."
    )
    if plan.covered:
        text += f" {_count(len(plan.covered), 'joint')} covered already."
    return text


def bench_card(plan: Plan, words: Words) -> str:
    """Return the list for the bench, all kinds together, in the order of work."""
    sheets = sorted(plan.cuts.items(), key=lambda cut: (-cut[0].thickness_mm, cut[0].family))
    cuts = [f"{count} × {words.sheet(sheet)}, {_faces(sheet)}" for sheet, count in sheets]
    steps = [("Cut", [*cuts, SIZE])]
    steps += [(what, _with_face(plan, surface)) for surface, what in _TO_DO.items()]
    steps += [("Then, in this order", list(_order(plan)))]
    body = "".join(f"<div><b>{name}</b>{bullets(lines)}</div>" for name, lines in steps if lines)
    return f'<div class="card"><div class="state">To the bench</div>{body}</div>'


def kind_card(number: int, kind: CouponKind, words: Words) -> str:
    """Return the card of one kind of coupon."""
    adhesives = dict.fromkeys(bond.adhesive for bond in kind.stack.bonds if bond.is_bonded)
    rows = [
        ("For", ", ".join(joint.name for joint in kind.joints)),
        ("When", "; ".join((_when(kind), *map(words.label, adhesives)))),
        ("Machine", f"{kind.machine}, caps {kind.electrode.title()}"),
        ("Setting", _setting(kind)),
    ]
    body = "".join(f"<div><b>{name}:</b> {escape(text)}</div>" for name, text in rows)
    if kind.state is AdhesiveState.CURED:
        body += bullets((CURED_WITHOUT_TEST, CURED))
    head = f"Kind {number}: {_count(kind.coupons, 'coupon')}, {kind.state.label}"
    return (
        f'<div class="card trial"><div class="state">{escape(head)}</div>'
        f"{bullets(_layers(kind, words))}{body}</div>"
    )


def print_page(plan: Plan, words: Words, job: str, at: datetime, mark: str = "") -> str:
    """Return the plan as a page that prints well and loads nothing; `mark` stands over it."""
    title = escape(f"Coupons to weld, job {job}")
    cards = [kind_card(number, kind, words) for number, kind in enumerate(plan.kinds, start=1)]
    blocked = [f"No coupon can cover {joint.name} yet." for joint, _ in plan.blocked]
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{_PRINT_STYLE}</style></head><body><p><b>{escape(mark)}</b></p><h1>{title}</h1>"
        f"<p>{at:%Y-%m-%d %H:%M}. {escape(summary(plan))}</p>{bullets(blocked)}"
        f"{bench_card(plan, words)}{''.join(cards)}"
        f'{bullets(AT_THE_MACHINE)}<p class="small">{escape(OUTRANKS)}</p></body></html>'
    )


def csv_text(plan: Plan, adhesives: Mapping[str, Adhesive]) -> str:
    """Return the plan as CSV, one row a sheet, units in the column names."""
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


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _span(span: Span) -> str:
    """Write a label's time range, from two hours on in hours."""
    low, high, unit = span.low_min, span.high_min, "min"
    if low >= 120:
        low, high, unit = low / 60, high / 60, "h"
    return f"{low:g} {unit}" if low == high else f"{low:g}–{high:g} {unit}"


def _faces(sheet: Sheet) -> str:
    if sheet.upper is sheet.lower:
        return f"both faces {sheet.upper.label}"
    return f"one face {sheet.upper.label}, the other {sheet.lower.label}"


def _with_face(plan: Plan, surface: Surface) -> list[str]:
    """Say how many faces are to be brought to a surface."""
    faces = sum(n * (s.upper, s.lower).count(surface) for s, n in plan.cuts.items())
    return [f"{_count(faces, 'face')} of the sheets above"] if faces else []


def _layers(kind: CouponKind, words: Words) -> Iterable[str]:
    """Return the stack in a line a sheet, top to bottom, the adhesive between them."""
    for sheet, bond in zip_longest(kind.stack.sheets, kind.stack.bonds):
        upper, lower = sheet.upper.label, sheet.lower.label
        faces = f"both faces {upper}" if upper == lower else f"upper face {upper}, lower {lower}"
        yield f"{kind.coupons} × {words.sheet(sheet)}, {faces}"
        if bond and bond.is_bonded:
            yield f"between: {bond}"


def _order(plan: Plan) -> Iterable[str]:
    for number, kind in enumerate(plan.kinds, start=1):
        yield f"Kind {number}, {_count(kind.coupons, 'coupon')}: {_when(kind)}."


def _when(kind: CouponKind) -> str:
    """Say what to bond and when to weld, the bond that has to wait longest first."""
    bonds = dict.fromkeys(bond for bond in kind.stack.bonds if bond.is_bonded)
    steps = [f"{b}: {_WHEN[b.state]}" for state in _WHEN for b in bonds if b.state is state]
    return "; then ".join(steps) or "no adhesive: weld at any time"


def _setting(kind: CouponKind) -> str:
    if not kind.continues:
        return "see page Next setting"
    numbers = ", ".join(f"#{each.number}" for each in kind.continues)
    return f"that of {numbers}, counted already; at another setting the count starts again"
