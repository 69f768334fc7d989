"""What the shop lead needs to see: pass rates with honest intervals."""
