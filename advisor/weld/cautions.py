"""Who outranks the tool, and what can hurt a person or a vehicle. Shown where someone acts."""

from advisor.language import msg

OUTRANKS = msg(
    "The vehicle maker's repair procedure, the adhesive and welder makers' instructions, local "
    "codes and qualified people come first. This tool only keeps and reads coupons."
)
OUTRANKS_ON_A_CARD = msg("The vehicle maker's procedure and the makers' instructions come first.")
FOR_A_COUPON = msg("A starting setting for a coupon, not for the vehicle.")
AT_THE_MACHINE = (
    msg(
        "Eyes and skin: metal is thrown out molten; wear eye protection, gloves and closed sleeves."
    ),
    msg(
        "Magnetic field near the arms: people with a pacemaker or another implant keep away unless "
        "their doctor has cleared them (2013/35/EU, IEC 62822-3)."
    ),
    msg(
        "Fume from zinc and smoke from adhesive: extract it; uncured epoxy and isocyanate "
        "sensitise the skin."
    ),
    msg("The electrodes crush: hands clear before the arms close."),
)
AT_THE_VEHICLE = (
    msg("Battery, airbags and any high-voltage system isolated by the vehicle maker's procedure."),
    *AT_THE_MACHINE,
)
CURED = msg(
    "Cured adhesive insulates: with no metal path the current arcs, spits and burns. Keep a fire "
    "watch (from memory)."
)
