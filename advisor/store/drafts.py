"""Half-filled forms, kept so that a dropped connection or a restart loses nothing typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import delete, insert, select

from advisor.errors import InputError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import rows
from advisor.store.base import Base
from advisor.store.schema import draft

#: Longest draft kept. Choice of this project. [letters of JSON]
LONGEST_DRAFT = 50_000


@dataclass(frozen=True)
class Draft:
    """What somebody had typed into a form.

    Parameters
    ----------
    body : str
        The fields as JSON.
    saved_at : datetime
        When it was kept last.
    """

    body: str
    saved_at: datetime


class Drafts(Base):
    """Drafts of forms, one a person and form."""

    def draft(self, who: str, form: str) -> Draft | None:
        """Return what a person had typed into a form; None when there is nothing."""
        with self._reading() as connection:
            query = select(draft.c.body, draft.c.saved_at).where(*self._mine(who, form))
            found = connection.execute(query).one_or_none()
        return None if found is None else Draft(found.body, found.saved_at)

    def save_draft(self, who: str, form: str, body: str, now: datetime | None = None) -> None:
        """Keep what a person has typed into a form; it replaces what was kept before.

        Raises
        ------
        InputError
            It is longer than any form.
        """
        if len(body) > LONGEST_DRAFT:
            raise InputError(
                say(
                    "the draft has {letters:,} letters; at most {most:,} are kept",
                    letters=len(body),
                    most=LONGEST_DRAFT,
                )
            )
        values: Mapping[str, Any] = {
            "shop_id": self._shop,
            "who": rows.name_key(who),
            "form": form,
            "body": body,
            "saved_at": now or datetime.now(UTC),
        }
        with self._writing(who, Act.OWN) as connection:
            connection.execute(delete(draft).where(*self._mine(who, form)))
            connection.execute(insert(draft).values(**values))

    def drop_draft(self, who: str, form: str) -> None:
        """Throw a draft away: its form was kept, or is not wanted."""
        with self._writing(who, Act.OWN) as connection:
            connection.execute(delete(draft).where(*self._mine(who, form)))

    def _mine(self, who: str, form: str) -> tuple[Any, ...]:
        c = draft.c
        return (c.shop_id == self._shop, c.who == rows.name_key(who), c.form == form)
