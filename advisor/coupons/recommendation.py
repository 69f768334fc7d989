"""What the welder maker recommends for welding through cured adhesive: the maker's, not ours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from advisor.errors import InputError
from advisor.weld.stack import Stack


@dataclass(frozen=True)
class MakerRecommendation:
    """A recommendation as the shop copied it from the welder maker's document.

    Parameters
    ----------
    machine : str
        The machine it is for.
    stack : Stack
        The stack it is for.
    document, page : str
        Where it stands.
    settings : str
        The settings, in the document's words and units: they are shown, never calculated with.
    by : str
        Who copied them.
    at : datetime
        When.

    Raises
    ------
    InputError
        Document, page or settings are missing.
    """

    machine: str
    stack: Stack
    document: str
    page: str
    settings: str
    by: str
    at: datetime

    def __post_init__(self) -> None:
        for name in ("document", "page", "settings"):
            if not getattr(self, name).strip():
                raise InputError(
                    f"the welder maker's recommendation has no {name}; give document, page and "
                    "settings as printed, so that anybody can look them up"
                )

    def speaks_for(self, machine: str, stack: Stack) -> bool:
        """Whether it is for this machine and this stack."""
        return self.machine == machine and self.stack.same_as(stack)

    @property
    def sentence(self) -> str:
        """The recommendation as the maker's, with where it stands."""
        return (
            f"Welder maker's recommendation, not this tool's: {self.settings} ({self.document}, "
            f"page {self.page}; copied by {self.by}, {self.at.astimezone():%d %b %Y})."
        )
