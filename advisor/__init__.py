"""Setting advisor and test-coupon log for spot welding through structural adhesive."""

__version__ = "0.1.0"
