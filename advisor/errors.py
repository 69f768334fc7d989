"""Errors a user may see: one base, each also a builtin.

The text of every error says what was wrong, with its value and unit, and what would be right.
Pages show the text of an `AdvisorError` as it is; any other exception stays loud.
"""


class AdvisorError(Exception):
    """Base of every error that is meant to be read by a user."""


class InputError(AdvisorError, ValueError):
    """A value that cannot be used as it was entered."""


class UnitError(AdvisorError, ValueError):
    """A unit that does not fit its field, or a conversion that lacks a calibration."""


class LimitError(AdvisorError, ValueError):
    """A setting that the machine cannot or must not run."""


class NoAdviceError(AdvisorError, LookupError):
    """A question the tool refuses to answer, with the reason and what to do instead."""


class RecordError(AdvisorError, LookupError):
    """A record that is not there, or that may not be changed in this way."""


class StoreError(AdvisorError, OSError):
    """The log cannot be opened, read or written."""


class RoleError(AdvisorError, PermissionError):
    """Something that a person's role, or a visitor who has not signed in, may not do."""


class LostRaceError(AdvisorError, RuntimeError):
    """Somebody else changed a record since the form was opened; the text shows both versions."""
