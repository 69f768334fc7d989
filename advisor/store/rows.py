"""Between the words of the domain and the rows of the database. No rules here."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import lru_cache
from typing import Any

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.causes import Cause
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.coupons.verdict import Outcome, Reason, Verdict
from advisor.language import ENGLISH, speaking
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType, TestType
from advisor.weld.machine import Machine
from advisor.weld.published import Schedule
from advisor.weld.setting import NUMBERS, Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import AdhesiveState, Bond, Stack

Row = Mapping[Any, Any]
_MACHINE = (
    "largest_current_kA",
    "smallest_current_kA",
    "largest_force_kN",
    "smallest_force_kN",
    "mains_hz",
    "is_inverter",
    "force_kN_per_bar",
    "force_offset_kN",
)
_SPANS = ("work", "clamp", "cure")


def name_key(name: str) -> str:
    """Return what a name is found by: its letters, whatever their case and spaces."""
    return " ".join(name.split()).casefold()


def machine_values(machine: Machine) -> dict[str, Any]:
    """Return the columns of a machine."""
    return {name: getattr(machine, name) for name in _MACHINE}


def machine_from(row: Row) -> Machine:
    """Return a machine from its row."""
    return Machine(row["name"], **{name: row[name] for name in _MACHINE})


def adhesive_values(adhesive: Adhesive) -> dict[str, Any]:
    """Return the columns of an adhesive."""
    values: dict[str, Any] = {
        name: getattr(adhesive, name) for name in ("label_degC", "note", "bead_mm", "bond_line_mm")
    }
    for part in _SPANS:
        span: Span = getattr(adhesive, part)
        values[f"{part}_low_min"], values[f"{part}_high_min"] = span.low_min, span.high_min
    return values


def adhesive_from(row: Row) -> Adhesive:
    """Return an adhesive from its row."""
    spans = {part: Span(row[f"{part}_low_min"], row[f"{part}_high_min"]) for part in _SPANS}
    return Adhesive(
        row["name"],
        **spans,
        label_degC=row["label_degC"],
        note=row["note"],
        bead_mm=row["bead_mm"],
        bond_line_mm=row["bond_line_mm"],
    )


def rules_text(rules: ShopRules) -> str:
    """Write rules as JSON."""
    return json.dumps(asdict(rules), sort_keys=True)


@lru_cache(maxsize=100)
def rules_from(text: str) -> ShopRules:
    """Read rules from JSON."""
    body = json.loads(text)
    judging = body["judging"]
    return ShopRules(
        JudgingRules(
            SizeRule(judging["size"]["k"], GoverningRule.of(judging["size"]["governing"])),
            InterfaceFailureRule.of(judging["interface_failure"]),
            ExpulsionRule.of(judging["expulsion"]),
            judging["largest_aspect"],
        ),
        CoverageRules(**body["coverage"]),
        Schedule.of(body["bare_schedule"]),
        body.get("dress_after_welds"),  # which older rules did not have
    )


@lru_cache(maxsize=5000)
def stack_values(stack: Stack) -> Mapping[str, Any]:
    """Return the columns of a stack, in the way up in which it is stored; not to be changed."""
    stored = stack.canonical()
    with speaking(ENGLISH):
        title = stored.title()
    read = asdict(stored)
    for sheet in read["sheets"]:
        sheet["thickness_mm"] = float(sheet["thickness_mm"])  # 1 and 1.0 mm are one stack
    body = json.dumps(read, sort_keys=True)
    return {
        "fingerprint": hashlib.sha256(body.encode()).hexdigest(),
        "body": body,
        "title": title,
        "sheets": len(stored.sheets),
        "adhesive_state": stored.adhesive_state.value,
    }


@lru_cache(maxsize=5000)
def stack_from(body: str, *, turned_over: bool) -> Stack:
    """Return a stack in the way up in which it was written down."""
    read = json.loads(body)
    stack = Stack(
        tuple(
            Sheet(
                s["thickness_mm"],
                SteelFamily.of(s["family"]),
                Surface.of(s["upper"]),
                Surface.of(s["lower"]),
                s["grade"],
            )
            for s in read["sheets"]
        ),
        tuple(Bond(b["adhesive"], AdhesiveState.of(b["state"])) for b in read["bonds"]),
    )
    return stack.turned_over() if turned_over else stack


def setting_text(setting: Setting | None) -> str | None:
    """Write a joint's planned setting as JSON."""
    return None if setting is None else json.dumps(asdict(setting))


def setting_from(text: str | None) -> Setting | None:
    """Read a joint's planned setting."""
    return None if text is None else Setting(**json.loads(text))


def coupon_values(coupon: Coupon) -> dict[str, Any]:
    """Return the columns of a coupon that need no look-up."""
    return {
        "made_at": coupon.made_at,
        "turned_over": not coupon.stack.is_canonical,
        "job": coupon.job,
        "cap_shape": coupon.electrode.shape.value,
        "face_mm": coupon.electrode.face_mm,
        "cap_material": coupon.electrode.material,
        "welds_since_dressing": coupon.welds_since_dressing,
        **{name: getattr(coupon.setting, name) for name in NUMBERS},
        "pulses": coupon.setting.pulses,
        "test": coupon.test.value,
        "expulsion": coupon.expulsion,
        "edge_weld": coupon.edge_weld,
        "cracks": coupon.cracks,
        "notes": coupon.notes,
    }


def verdict_values(verdict: Verdict) -> dict[str, Any]:
    """Return the columns of a verdict."""
    reasons = [[reason.outcome.value, reason.text] for reason in verdict.reasons]
    return {"outcome": verdict.outcome.value, "reasons": json.dumps(reasons, ensure_ascii=False)}


def causes_text(found: Sequence[Cause]) -> str:
    """Write the causes of a failure, as they are counted."""
    return " ".join(cause.value for cause in found)


def result_values(coupon: Coupon) -> list[dict[str, Any]]:
    """Return the rows of a coupon's interfaces."""
    return [
        {
            "position": position,
            "smallest_mm": result.smallest_mm,
            "largest_mm": result.largest_mm,
            "failure": result.failure.value if result.failure else None,
        }
        for position, result in enumerate(coupon.results)
    ]


def result_words(values: Row) -> list[Any]:
    """Return the columns of an interface in a fixed order, as they will be read back."""
    sizes = (values["smallest_mm"], values["largest_mm"])
    numbers = [None if size is None else float(size) for size in sizes]
    return [values["position"], *numbers, values["failure"]]


def result_from(row: Row) -> InterfaceResult:
    """Return what was found at one interface."""
    failure = row["failure"]
    return InterfaceResult(
        row["smallest_mm"], row["largest_mm"], FailureType.of(failure) if failure else None
    )


def coupon_from(row: Row, results: Sequence[InterfaceResult]) -> Coupon:
    """Return a coupon from its revision, its stack's body and its interfaces."""
    return Coupon(
        made_at=row["made_at"],
        welder=row["welder"],
        machine=row["machine"],
        electrode=Electrode(CapShape.of(row["cap_shape"]), row["face_mm"], row["cap_material"]),
        stack=stack_from(row["body"], turned_over=row["turned_over"]),
        setting=Setting(pulses=row["pulses"], **{name: row[name] for name in NUMBERS}),
        results=tuple(results),
        test=TestType.of(row["test"]),
        expulsion=row["expulsion"],
        edge_weld=row["edge_weld"],
        cracks=row["cracks"],
        job=row["job"],
        welds_since_dressing=row["welds_since_dressing"],
        notes=row["notes"],
    )


def logged_from(row: Row, results: Sequence[InterfaceResult]) -> LoggedCoupon:
    """Return a coupon as the log holds it."""
    reasons = tuple(Reason(Outcome.of(way), text) for way, text in json.loads(row["reasons"]))
    return LoggedCoupon(
        row["number"],
        coupon_from(row, results),
        Verdict(Outcome.of(row["outcome"]), reasons),
        row["revision"],
        row["voided"],
        row["origin"],
    )
