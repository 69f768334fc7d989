"""Adhesive: what the shop's products need, and the rules of bonding before welding."""
