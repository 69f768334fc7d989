"""The shop's rules in sentences, and a short mark that tells one version from another."""

from __future__ import annotations

import hashlib

from advisor.coupons.rules import ShopRules


def rules_version(rules: ShopRules) -> str:
    """Return a short mark that changes with any rule of judging or coverage."""
    text = f"{rules.judging!r}{rules.coverage!r}"
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def rules_words(rules: ShopRules) -> list[str]:
    """Return the shop's rules with the standard, edition and clause each one rests on."""
    judging, size, cover = rules.judging, rules.judging.size, rules.coverage
    return [
        "Size: mean of the smallest and the largest diameter (AWS D8.1M:2013, cl. 3).",
        f"Minimum size: {size.k:g}√t, t in mm; the factor is the shop's choice. Governing "
        f"thickness t: {size.governing.label} ({size.governing.source}).",
        f"Failure types: after ISO 10447:2015; {judging.interface_failure.label} "
        f"({judging.interface_failure.source}).",
        f"Expulsion: {judging.expulsion.label} ({judging.expulsion.source}).",
        f"Aspect ratio: at most {judging.largest_aspect:g} (defined in AWS D8.1M:2013, cl. 3; "
        "the limit is the shop's choice).",
        "Edge weld and visible crack: fail (edge weld defined in AWS D8.1M:2013, cl. 3; that they "
        "fail is common practice, no source).",
        f"Coverage: {cover.passes_in_a_row} passing coupons in a row at one setting; sheets within "
        f"{cover.thickness_tolerance_mm:g} mm; at most {cover.unbonded_days} days old for an "
        f"unbonded joint; of the same job and at most {cover.bonded_days} days old for a bonded "
        "joint (common practice, no source).",
        f"Dressing: {_dressing(rules.dress_after_welds)}.",
    ]


def _dressing(welds: int | None) -> str:
    return "no count is set" if welds is None else f"after {welds} welds, by the shop's choice"
