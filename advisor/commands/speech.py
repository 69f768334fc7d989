"""Which language the command line speaks."""

from __future__ import annotations

import os
import re

from advisor.language import LANGUAGES

#: Names the language, by its code or as a locale: ``de``, ``de_DE.UTF-8``.
VARIABLE = "ADVISOR_LANGUAGE"


def chosen_language() -> str | None:
    """Return the code of the language that ``ADVISOR_LANGUAGE`` names; None without one of ours."""
    code = re.split("[-_.]", os.environ.get(VARIABLE, "").strip().casefold())[0]
    return code if code in LANGUAGES else None
