"""What adhesive does to a weld and to the evidence, in words: no published number exists."""

from __future__ import annotations

from advisor.language import msg

#: Each with how far it can be trusted.
WET = (
    msg(
        "The force has to push the paste aside before the current starts: longer squeeze, somewhat "
        "more force, sometimes a small pulse before the weld (from memory)."
    ),
    msg(
        "With wet epoxy the contact resists more at first: in one three-sheet stack melting began "
        "earlier and the nugget was larger than without it (Materials 2018, 11(10), 1828)."
    ),
    msg("The window narrows and moves down; by how much, only coupons tell (from memory)."),
)
CURED = (
    msg(
        "A cured film insulates. Without a metallic path no current flows at all, or it arcs, "
        "spits, smokes and may start a fire (from memory)."
    ),
    msg(
        "For the vehicle this tool gives no number through cured adhesive: use the welder maker's "
        "recommended settings, and a passing coupon with adhesive cured as on the joint."
    ),
)
EVIDENCE = (
    msg("A coupon with wet adhesive speaks for wet joints only, and a cured one for cured only."),
    msg("A coupon without adhesive speaks for no bonded joint, however good its button."),
    msg("Another adhesive, another machine, stack, surface or electrode: a coupon of its own."),
)
NO_NUMBER = msg(
    "No published number says how far wet or cured adhesive moves a setting, so nothing is "
    "calculated here. Weld the same stack without adhesive, wet and cured, and compare the buttons."
)
