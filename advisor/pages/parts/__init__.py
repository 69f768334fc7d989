"""Pieces that several pages share: the look, cards, number entry, stack entry."""
