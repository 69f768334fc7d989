"""A published start in words: what it rests on, and why there is none."""

from __future__ import annotations

from advisor.errors import NoAdviceError
from advisor.language import listed, msg, say
from advisor.weld.sheet import SteelFamily, Surface
from advisor.weld.stack import Stack

#: Why a table is entered with this thickness, by the number of sheets. Two and three are AWS
#: D8.1M:2013, cl. 3; four is common practice, no source.
WHY = {
    2: msg("the thinner of the two sheets"),
    3: msg("the second thickest of 3 sheets"),
    4: msg("the second thickest of 4 sheets (four sheets: common practice, no source)"),
}
_BASIS = msg("{source}, entered with {thickness:g} mm, {why}")
_BASIS_GALVANNEALED = msg(
    "{source}, entered with {thickness:g} mm, {why}; 5 % more current for galvannealed (from "
    "memory)"
)
_WHAT_NOW = msg(
    "start the coupons from the welder maker's recommended settings; the log still records, judges "
    "and covers them"
)


def basis_words(source: str, thickness_mm: float, why: str, *, is_galvannealed: bool) -> str:
    """Say which table and thickness a start rests on.

    Parameters
    ----------
    source : str
        The table, in words.
    thickness_mm : float
        Thickness it was entered with. [mm]
    why : str
        Why this one, one of `WHY`.
    is_galvannealed : bool
        Whether the current is raised for galvannealed faces.
    """
    message = _BASIS_GALVANNEALED if is_galvannealed else _BASIS
    return say(message, source=source, thickness=thickness_mm, why=say(why))


def outside(thickness_mm: float, source: str, low_mm: float, high_mm: float) -> NoAdviceError:
    """Return the refusal of a thickness outside a table.

    Parameters
    ----------
    thickness_mm : float
        The thickness. [mm]
    source : str
        The table, in words.
    low_mm, high_mm : float
        What the table covers. [mm]
    """
    return NoAdviceError(
        say(
            "{thickness:g} mm is outside {source} ({low:g} to {high:g} mm): there is no published "
            "start; use the welder maker's recommended settings for the first coupon",
            thickness=thickness_mm,
            source=source,
            low=low_mm,
            high=high_mm,
        )
    )


def refuse_unpublished(stack: Stack) -> None:
    """Refuse a stack with a steel or a surface that no published table is for.

    Parameters
    ----------
    stack : Stack
        The stack.

    Raises
    ------
    NoAdviceError
        Which steel or surface, and what to do.
    """
    foreign = sorted(f.label for f in stack.families if f is not SteelFamily.LOW_CARBON)
    if foreign:
        raise NoAdviceError(
            say(
                "no published start for {families} steel (ISO 14373:2015 Annex B is for low-carbon "
                "steel): {what_now}",
                families=listed(foreign),
                what_now=say(_WHAT_NOW),
            )
        )
    unknown = sorted(
        face.label
        for face in stack.surfaces
        if face in (Surface.ALUMINIUM_SILICON, Surface.WELD_PRIMER)
    )
    if unknown:
        raise NoAdviceError(
            say(
                "no published start for {surfaces}: {what_now}",
                surfaces=listed(unknown),
                what_now=say(_WHAT_NOW),
            )
        )
