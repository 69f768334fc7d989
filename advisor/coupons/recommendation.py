"""What the welder maker recommends for welding through cured adhesive: the maker's, not ours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.weld.stack import Stack

_MISSING = {
    "document": msg(
        "the welder maker's recommendation has no document; give document, page and settings as "
        "printed, so that anybody can look them up"
    ),
    "page": msg(
        "the welder maker's recommendation has no page; give document, page and settings as "
        "printed, so that anybody can look them up"
    ),
    "settings": msg(
        "the welder maker's recommendation has no settings; give document, page and settings as "
        "printed, so that anybody can look them up"
    ),
}


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
        for name, missing in _MISSING.items():
            if not getattr(self, name).strip():
                raise InputError(say(missing))

    @property
    def sentence(self) -> str:
        """The recommendation as the maker's, with where it stands."""
        return say(
            "Welder maker's recommendation, not this tool's: {settings} ({document}, page {page}; "
            "copied by {by}, {at:%d %b %Y}).",
            settings=self.settings,
            document=self.document,
            page=self.page,
            by=self.by,
            at=self.at.astimezone(),
        )
