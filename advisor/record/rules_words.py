"""The shop's rules in sentences, and a short mark that tells one version from another."""

from __future__ import annotations

import hashlib

from advisor.coupons.rules import CoverageRules, ShopRules
from advisor.language import say


def rules_version(rules: ShopRules) -> str:
    """Return a short mark that changes with any rule of judging or coverage."""
    text = f"{rules.judging!r}{rules.coverage!r}"
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def rules_words(rules: ShopRules) -> list[str]:
    """Return the shop's rules with the standard, edition and clause each one rests on."""
    judging, size = rules.judging, rules.judging.size
    return [
        say("Size: mean of the smallest and the largest diameter (AWS D8.1M:2013, cl. 3)."),
        say(
            "Minimum size: {k:g}√t, t in mm; the factor is the shop's choice. Governing thickness "
            "t: {rule} ({source}).",
            k=size.k,
            rule=size.governing.label,
            source=size.governing.source,
        ),
        say(
            "Failure types: after ISO 10447:2015; {rule} ({source}).",
            rule=judging.interface_failure.label,
            source=judging.interface_failure.source,
        ),
        say(
            "Expulsion: {rule} ({source}).",
            rule=judging.expulsion.label,
            source=judging.expulsion.source,
        ),
        say(
            "Aspect ratio: at most {aspect:g} (defined in AWS D8.1M:2013, cl. 3; the limit is the "
            "shop's choice).",
            aspect=judging.largest_aspect,
        ),
        say(
            "Edge weld and visible crack: fail (edge weld defined in AWS D8.1M:2013, cl. 3; that "
            "they fail is common practice, no source)."
        ),
        _coverage(rules.coverage),
        _dressing(rules.dress_after_welds),
    ]


def _coverage(cover: CoverageRules) -> str:
    return say(
        "Coverage: {passes} passing coupons in a row at one setting; sheets within "
        "{tolerance:g} mm; at most {unbonded} days old for an unbonded joint; of the same job and "
        "at most {bonded} days old for a bonded joint (common practice, no source).",
        passes=cover.passes_in_a_row,
        tolerance=cover.thickness_tolerance_mm,
        unbonded=cover.unbonded_days,
        bonded=cover.bonded_days,
    )


def _dressing(welds: int | None) -> str:
    if welds is None:
        return say("Dressing: no count is set.")
    return say("Dressing: after {welds} welds, by the shop's choice.", welds=welds)
