"""What has to be right before a bonded joint is welded. Common practice, no source."""

#: Of every joint, bonded or not.
SPACING = (
    "New welds keep the original spacing, as near the original place as possible, never over an "
    "original weld."
)
#: Of a bonded joint. Each line is common practice without a published source; the makers'
#: procedures come first.
PREPARATION = (
    "Bond flanges ground to bare metal on both parts, zinc and e-coat gone, dust blown off; the "
    "coupon is ground the same way.",
    "Fit-up tried without adhesive.",
    "Insulated clamps while welding.",
    SPACING,
    "A panel set in wet adhesive is slid, never lifted.",
)
MARK = "common practice, no source"
