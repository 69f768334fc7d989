"""Parts of the practice bench: what a peeled coupon shows, how it was read, the true window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import altair as alt
import pandas as pd
import streamlit as st

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.coverage import Coverage
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome
from advisor.errors import RecordError
from advisor.language import msg, say, say_number
from advisor.learning.bench_machine import Peeled
from advisor.pages.parts import charts
from advisor.pages.parts.button_drawing import STYLE, drawing
from advisor.pages.parts.cards import bullets, percent
from advisor.pages.parts.chart_files import downloads
from advisor.pages.parts.joint_choice import Target
from advisor.pages.parts.palette import INK, SIGNAL
from advisor.pages.parts.plain import plain
from advisor.pages.parts.window import Axis, axes, marks_key, what_came_out
from advisor.pages.session import Session
from advisor.review.intervals import pass_rate
from advisor.review.intervals import percent as share
from advisor.store.log import Log
from advisor.store.practice_bench import BenchWork, Written, practice_joint
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting

#: Coupons of the bench that are looked at; one exercise holds no more welds.
MOST_COUPONS = 300
#: Messages for `say`, all of them.
MARK = msg("PRACTICE BENCH: a virtual machine, nothing was measured")
#: What is seen of each failure, without its name: to name it is the trainee's part.
SEEN = {
    FailureType.BUTTON: msg(
        "A lump of metal was pulled out of one sheet and left a hole of its size."
    ),
    FailureType.PART_BUTTON: msg(
        "A lump was pulled out; on one side the sheet tore before the hole went right through."
    ),
    FailureType.PART_THICKNESS: msg("The sheet tore within its thickness; no lump stands."),
    FailureType.INTERFACE_WITH_BUTTON: msg(
        "The sheets slid apart along a flat spot; only in its middle a little lump stands."
    ),
    FailureType.INTERFACE: msg(
        "The sheets came apart along a flat, streaked spot; no lump stands."
    ),
    FailureType.NO_FUSION: msg(
        "The sheets came apart by hand; there is the print of the electrodes and no weld."
    ),
}
_THROWN = msg(
    "Sparks flew while it was welded: metal was thrown out and stands as whiskers at the rim."
)
_START, _LAST = msg("published start"), msg("last setting")


def seen(peeled: Peeled) -> list[str]:
    """Return what a peeled coupon shows, in sentences without a number.

    Parameters
    ----------
    peeled : Peeled
        The coupon.
    """
    many = len(peeled.torn) > 1
    found = [
        _at_interface(number if many else 0, say(SEEN[result.failure]))
        for number, result in enumerate(peeled.results, 1)
        if result.failure
    ]
    return found + [say(_THROWN)] * peeled.expulsion


def _at_interface(number: int, text: str) -> str:
    """Return a sentence about an interface; 0 where there is only one."""
    if not number:
        return text
    return say("Interface {number}: {text}", number=number, text=text)


def show_peeled(session: Session, peeled: Peeled) -> None:
    """Draw a peeled coupon to be read, and its numbers for who asks for them.

    Parameters
    ----------
    session : Session
        The person's units.
    peeled : Peeled
        The coupon.
    """
    st.html(f'<div class="card">{bullets(seen(peeled))}</div>')
    st.html(STYLE)
    unit, many = session.units.unit("diameter"), len(peeled.torn) > 1
    for number, torn in enumerate(peeled.torn, 1):
        where = say("Interface {number}", number=number) if many else ""
        if many:
            st.markdown(say("**Interface {number}**, seen from above", number=number))
        picture = drawing(torn.result, torn.look, unit, where=where, thrown=peeled.expulsion)
        st.markdown(f'<div class="card">{picture}</div>', unsafe_allow_html=True)
    if st.toggle(say("Read it for me"), key=f"bench·read·{peeled.number}"):
        st.html(f'<div class="card">{bullets(_readings(session, peeled))}</div>')


def _readings(session: Session, peeled: Peeled) -> list[str]:
    many, found = len(peeled.torn) > 1, []
    for number, result in enumerate(peeled.results, 1):
        words = _reading_words(session, result)
        found.append(_at_interface(number if many else 0, words))
    return found


def _reading_words(session: Session, result: InterfaceResult) -> str:
    if result.smallest_mm is None or result.failure is None:
        return say("nothing to measure: no fusion.")
    show = session.units.show
    return say(
        "smallest {smallest}, largest {largest}: {failure}.",
        smallest=show("diameter", result.smallest_mm),
        largest=show("diameter", result.largest_mm),
        failure=result.failure.label,
    )


def reading_lines(session: Session, written: Written) -> list[str]:
    """Return in what a coupon of the log differs from what was peeled, in sentences.

    Parameters
    ----------
    session : Session
        The person's units.
    written : Written
        The coupon beside its weld.
    """
    many = written.peeled is not None and len(written.peeled.torn) > 1
    found = []
    for each in written.misread:
        mine, true = (
            session.units.show("diameter", value) for value in (each.written_mm, each.peeled_mm)
        )
        found.append(
            say(
                _MISREAD[each.which, many],
                interface=each.interface,
                mine=mine,
                true=true,
                error=each.error_mm,
            )
        )
    return [*found, *written.other_words]


#: A wrong reading by which diameter it is of, and whether the interface has to be named.
_MISREAD = {
    ("smallest", False): msg(
        "smallest diameter: {mine} was written, {true} was there; reading error {error:+.2f} mm"
    ),
    ("smallest", True): msg(
        "smallest diameter at interface {interface}: {mine} was written, {true} was there; "
        "reading error {error:+.2f} mm"
    ),
    ("largest", False): msg(
        "largest diameter: {mine} was written, {true} was there; reading error {error:+.2f} mm"
    ),
    ("largest", True): msg(
        "largest diameter at interface {interface}: {mine} was written, {true} was there; "
        "reading error {error:+.2f} mm"
    ),
}


def proof_words(coverage: Coverage, coupons: Sequence[LoggedCoupon]) -> str:
    """Return what the coupons at the proven setting leave open about its true rate.

    Parameters
    ----------
    coverage : Coverage
        Of a covered joint.
    coupons : sequence of LoggedCoupon
        Coupons of the log that count.
    """
    judged = [
        each.verdict.outcome
        for each in coupons
        if coverage.setting is not None
        and each.coupon.setting.same_as(coverage.setting)
        and each.verdict.outcome is not Outcome.OPEN
    ]
    rate = pass_rate(judged.count(Outcome.PASS), len(judged), "exact")
    return say_number(
        "{number} of {judged} pass leaves a true rate as low as {low} % (exact {level:g} % "
        "interval): covered by the shop's rule is not the same as proven for every weld.",
        "{number} of {judged} passes leave a true rate as low as {low} % (exact {level:g} % "
        "interval): covered by the shop's rule is not the same as proven for every weld.",
        rate.passed,
        judged=rate.judged,
        low=share(rate.low),
        level=100 * rate.level,
    )


@dataclass(frozen=True)
class Behind:
    """Whose bench is looked behind.

    Parameters
    ----------
    log : Log
        The log of the bench.
    work : BenchWork
        What was welded.
    target : Target
        Joint and machine, for the axes.
    """

    log: Log
    work: BenchWork
    target: Target

    @property
    def last(self) -> Setting:
        """The setting that was welded last; the published start before the first weld."""
        start = self.work.machine.start
        first = Setting(start.current_kA, start.weld_ms, start.force_kN)
        return self.work.welds[-1] if self.work.welds else first

    def chance(self, setting: Setting) -> float:
        """Return the true chance of a sound weld with the caps as they are now."""
        judging = self.log.rules().judging
        return self.work.machine.true_chance(setting, judging, len(self.work.welds))


def target_of(log: Log) -> Target:
    """Return the joint of a bench with its machine and the caps that are fitted.

    Parameters
    ----------
    log : Log
        The log of the bench.

    Raises
    ------
    RecordError
        No caps are fitted on its machine.
    """
    stored = practice_joint(log)
    joint, bench = stored.joint, log.bench(stored.joint.machine)
    caps = bench.electrode
    if caps is None:
        raise RecordError(
            say(
                "no caps are fitted on {machine}; fit them under Shop set-up",
                machine=joint.machine,
            )
        )
    return Target(joint.stack, log.machine(joint.machine), caps, joint, f"joint{stored.id}")


def true_window(session: Session, behind: Behind) -> None:
    """Draw the true chance of a sound weld over current and time, with the trainee's coupons.

    Parameters
    ----------
    session : Session
        The units of whoever looks.
    behind : Behind
        Whose bench.
    """
    across, up, held = axes(session, behind.target.machine.calibration)
    last, start = behind.last, behind.work.machine.start
    begin = Setting(start.current_kA, start.weld_ms, last.force_kN)
    window = behind.work.machine.true_window(
        last.force_kN, behind.log.rules().judging, len(behind.work.welds)
    )
    marks = _marks(behind)
    force = session.units.show(held.field, last.force_kN, held.calibration)
    words = say(
        "True chance of a sound weld at the last setting {last}, at the published start {start}, "
        "both at force {force} and with the caps as worn as they are; the best on the map is "
        "{best}.",
        last=percent(behind.chance(last)),
        start=percent(behind.chance(begin)),
        force=force,
        best=percent(window["chance_sound"].max()),
    )
    st.markdown(plain(words))
    st.html(_key(marks["what"].tolist()))
    cells = pd.DataFrame(
        {"x": across.read(window), "y": up.read(window), "chance": window["chance_sound"]}
    ).assign(tested=True)

    def figures() -> pd.DataFrame:
        x, y, _ = axes(session, behind.target.machine.calibration)
        titles = [x.title, y.title, say("true chance of a sound weld")]
        return cells[["x", "y", "chance"]].set_axis(titles, axis=1)

    downloads(
        _chart(cells, marks, across, up, {_START: begin, _LAST: last}),
        figures,
        "true window of the practice bench",
        "bench-window",
        title=say("True chance of a sound weld over current and time, force {force}", force=force),
        mark=MARK,
        alt_text=say(
            "Map of the true chance of a sound weld over current and time. {words}", words=words
        ),
    )


def _marks(behind: Behind) -> pd.DataFrame:
    """Return the trainee's coupons: those of the log as judged, the others as not yet judged."""
    written = behind.work.written(behind.log.recent_coupons(MOST_COUPONS))
    known = {each.peeled.number: each.logged for each in written if each.peeled}
    rows = [
        (s.current_kA, s.weld_ms, what_came_out(known[n]) if n in known else charts.OPEN)
        for n, s in enumerate(behind.work.welds, 1)
    ]
    return pd.DataFrame(rows, columns=["current_kA", "weld_ms", "what"])


def _chart(
    cells: pd.DataFrame, marks: pd.DataFrame, across: Axis, up: Axis, places: dict[str, Setting]
) -> charts.Chart:
    counted = marks.groupby(["current_kA", "weld_ms", "what"], as_index=False).size()
    coupons = pd.DataFrame(
        {
            "x": across.read(counted),
            "y": up.read(counted),
            "what": counted["what"],
            "count": counted["size"],
        }
    )
    rows = [(s.current_kA, s.weld_ms, what) for what, s in places.items()]
    named = pd.DataFrame(rows, columns=["current_kA", "weld_ms", "what"])
    named = pd.DataFrame({"x": across.read(named), "y": up.read(named), "what": named["what"]})
    chart = charts.chance_map(cells, coupons, across.title, up.title)
    layers = [*chart.layer]
    for what, shape, size in ((_START, "square", 420), (_LAST, "diamond", 620)):
        at = alt.Chart(named[named["what"] == what].assign(what=say(what)))
        for colour, width in ((INK, 6), (SIGNAL, 2.5)):
            mark = at.mark_point(
                shape=shape, size=size, filled=False, opacity=1, stroke=colour, strokeWidth=width
            )
            layers.append(
                mark.encode(alt.X("x:Q"), alt.Y("y:Q"), alt.Tooltip("what:N", title=say("what")))
            )
    found: charts.Chart = alt.layer(*layers).resolve_scale(color="independent")
    return found.properties(height=340)


def _key(words: list[str]) -> str:
    """Return marks and colours of the map in words."""
    levels = ["0", *(f"{100 * level:.0f}" for level in charts.LEVELS), "100"]
    shades = "".join(
        f'<span><i style="background:{colour}"></i> {low}–{high} %</span>'
        for colour, low, high in zip(charts.TESTED, levels[:-1], levels[1:], strict=True)
    )
    places = f"<span><b>□</b> {say(_START)}</span><span><b>◇</b> {say(_LAST)}</span>"
    return f'{_KEY_STYLE}<div class="shades">{shades}{places}</div>{marks_key(words)}'


_KEY_STYLE = """
<style>
.shades { display: flex; flex-wrap: wrap; gap: .1rem 1rem; font-size: .86rem; }
.shades i { display: inline-block; width: 1.6rem; height: .8rem; border: 1px solid var(--edge); }
.marks span { margin-right: 1rem; font-size: .86rem; }
</style>
"""
