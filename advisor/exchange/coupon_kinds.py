"""What is known of coupons and of joints, as flat values: revisions, photos, releases, checks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.bonding.preparation import Answer, Checked
from advisor.coupons.coupon import Coupon
from advisor.coupons.foretold import Foretold
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Evidence, Release
from advisor.coupons.verdict import Outcome, Reason, Verdict
from advisor.exchange.columns import (
    RESULTS,
    STACK,
    WRITTEN,
    electrode_fields,
    electrode_from,
    electrode_values,
    result_values,
    results_from,
    setting_fields,
    setting_from,
    setting_values,
    stack_from,
    stack_values,
)
from advisor.exchange.fields import (
    Coded,
    Flag,
    Hexadecimal,
    Listed,
    Moment,
    Number,
    Text,
    Whole,
    Word,
)
from advisor.exchange.records import CouponForetold, CouponRevision, JointCheck, JointRelease, Photo
from advisor.text_rules import LONGEST_TEXT
from advisor.weld.failure import TestType

Values = Mapping[str, Any]
_FLAGS = ("expulsion", "edge_weld", "cracks")
_NAMES = ("made_at", "welder", "machine", "job", "test", "welds_since_dressing", "notes", *_FLAGS)
MEDIA = ("image/jpeg", "image/png", "image/webp")

REVISION = (
    Whole("number", low=1),
    Whole("revision", low=1),
    Moment("made_at"),
    Text("welder"),
    Text("machine"),
    Text("job"),
    Word("test", words=TestType),
    *STACK,
    *electrode_fields(optional=False),
    Whole("welds_since_dressing", optional=True),
    *setting_fields(optional=False),
    *RESULTS,
    *(Flag(name) for name in _FLAGS),
    Text("notes", longest=LONGEST_TEXT),
    Word("outcome", words=Outcome),
    Listed("reasons", parts=(Word("outcome", words=Outcome), Text("text", longest=LONGEST_TEXT))),
    Whole("rules", low=1),
    Text("voided", longest=LONGEST_TEXT),
    Text("why", longest=LONGEST_TEXT),
    Text("origin"),
    *WRITTEN,
)
FORETOLD = (
    Whole("coupon", low=1),
    Number("chance_sound"),
    Number("chance_expulsion"),
    Whole("coupons_known"),
    Moment("recorded_at"),
)
PHOTO = (
    Whole("coupon", low=1),
    Hexadecimal("sha256"),
    Coded("media", codes=MEDIA),
    Whole("bytes", low=1),
    Whole("width_px", low=1),
    Whole("height_px", low=1),
    *WRITTEN,
)
_OF_JOINT = (Text("job"), Text("joint"))
RELEASE = (
    *_OF_JOINT,
    *setting_fields(optional=False),
    Listed("evidence", parts=(Whole("coupon", low=1), Whole("revision", low=1))),
    Text("note", longest=LONGEST_TEXT),
    Text("released_by"),
    Moment("released_at"),
)
CHECK = (
    *_OF_JOINT,
    Text("check", longest=40),
    Word("answer", words=Answer),
    Number("measured", optional=True),
    *WRITTEN,
)
RECOMMENDATION = (
    Text("machine"),
    *STACK,
    Text("document"),
    Text("page"),
    Text("settings", longest=LONGEST_TEXT),
    *WRITTEN,
)


def revision_values(revision: CouponRevision) -> dict[str, Any]:
    """Return the values of a revision of a coupon."""
    coupon, verdict = revision.coupon, revision.verdict
    return {
        "number": revision.number,
        "revision": revision.revision,
        **{name: getattr(coupon, name) for name in _NAMES},
        **stack_values(coupon.stack),
        **electrode_values(coupon.electrode),
        **setting_values(coupon.setting),
        **result_values(coupon.results),
        "outcome": verdict.outcome,
        "reasons": [(reason.outcome, reason.text) for reason in verdict.reasons],
        "rules": revision.rules,
        "voided": revision.voided,
        "why": revision.why,
        "origin": revision.origin,
        "recorded_by": revision.by,
        "recorded_at": revision.at,
    }


def revision_from(values: Values) -> CouponRevision:
    """Return a revision of a coupon."""
    stack = stack_from(values)
    coupon = Coupon(
        electrode=electrode_from(values),
        stack=stack,
        setting=setting_from(values),
        results=results_from(values, len(stack.bonds)),
        **{name: values[name] for name in _NAMES},
    )
    return CouponRevision(
        values["number"],
        values["revision"],
        coupon,
        Verdict(values["outcome"], tuple(Reason(*each) for each in values["reasons"])),
        values["rules"],
        values["voided"],
        values["why"],
        values["origin"],
        values["recorded_by"],
        values["recorded_at"],
    )


def foretold_values(each: CouponForetold) -> dict[str, Any]:
    """Return the values of what was foretold of a coupon."""
    return {"coupon": each.coupon, "recorded_at": each.at, **vars(each.foretold)}


def foretold_from(values: Values) -> CouponForetold:
    """Return what was foretold of a coupon."""
    names = ("chance_sound", "chance_expulsion", "coupons_known")
    foretold = Foretold(*(values[name] for name in names))
    return CouponForetold(values["coupon"], foretold, values["recorded_at"])


def photo_values(photo: Photo) -> dict[str, Any]:
    """Return the values of a photo."""
    found = dict(vars(photo))
    return {"recorded_by": found.pop("by"), "recorded_at": found.pop("at"), **found}


def photo_from(values: Values) -> Photo:
    """Return a photo."""
    found = dict(values)
    return Photo(by=found.pop("recorded_by"), at=found.pop("recorded_at"), **found)


def release_values(released: JointRelease) -> dict[str, Any]:
    """Return the values of a release."""
    release = released.release
    return {
        "job": released.job,
        "joint": released.joint,
        **setting_values(release.setting),
        "evidence": [(each.number, each.revision) for each in release.evidence],
        "note": release.note,
        "released_by": release.by,
        "released_at": release.at,
    }


def release_from(values: Values) -> JointRelease:
    """Return a release."""
    evidence = tuple(Evidence(*each) for each in values["evidence"])
    release = Release(
        values["released_by"],
        values["released_at"],
        setting_from(values),
        evidence,
        values["note"],
    )
    return JointRelease(values["job"], values["joint"], release)


def check_values(check: JointCheck) -> dict[str, Any]:
    """Return the values of an answer to a preparation check."""
    checked = check.checked
    return {
        "job": check.job,
        "joint": check.joint,
        "check": checked.key,
        "answer": checked.answer,
        "measured": checked.measured,
        "recorded_by": checked.by,
        "recorded_at": checked.at,
    }


def check_from(values: Values) -> JointCheck:
    """Return an answer to a preparation check."""
    names = ("check", "answer", "measured", "recorded_by", "recorded_at")
    return JointCheck(values["job"], values["joint"], Checked(*(values[name] for name in names)))


def recommendation_values(said: MakerRecommendation) -> dict[str, Any]:
    """Return the values of a welder maker's recommendation."""
    return {
        "machine": said.machine,
        **stack_values(said.stack),
        "document": said.document,
        "page": said.page,
        "settings": said.settings,
        "recorded_by": said.by,
        "recorded_at": said.at,
    }


def recommendation_from(values: Values) -> MakerRecommendation:
    """Return a welder maker's recommendation."""
    names = ("document", "page", "settings", "recorded_by", "recorded_at")
    rest = (values[name] for name in names)
    return MakerRecommendation(values["machine"], stack_from(values), *rest)
