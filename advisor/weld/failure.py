"""How a weld came apart in the test."""

from advisor.language import msg, say
from advisor.weld.words import TradeWord


class FailureType(TradeWord):
    """Failure at one interface of a peel or chisel test.

    ISO 10447:2015 tells symmetric, asymmetric, partial and interface failure apart (summary read);
    AWS D8.1M:2013 Figs. 10–17 illustrate eight modes (count read, names from memory). These words
    are what a technician can tell apart by eye on the bench.
    """

    BUTTON = "button", msg("button pulled")
    PART_BUTTON = "part_button", msg("button, part of the thickness")
    PART_THICKNESS = "part_thickness", msg("torn within the thickness, no button")
    INTERFACE_WITH_BUTTON = "interface_with_button", msg("interface with a small button")
    INTERFACE = "interface", msg("interface sheared flat")
    NO_FUSION = "no_fusion", msg("no fusion")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("failure type")


#: Failure that leaves nothing to measure.
WITHOUT_DIAMETER = frozenset({FailureType.NO_FUSION})
#: Failure wholly or partly through the interface.
THROUGH_INTERFACE = frozenset({FailureType.INTERFACE, FailureType.INTERFACE_WITH_BUTTON})


class TestType(TradeWord):
    """Destructive test that took the coupon apart."""

    __test__ = False  # a domain word, not a test class

    PEEL = "peel", msg("peel")
    CHISEL = "chisel", msg("chisel")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("test type")
