"""Files: coupons out as CSV, in from anybody's CSV with a column map, and the whole log."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime

import pandas as pd
import streamlit as st

from advisor.coupons.columns import guess_map, title, words_of
from advisor.coupons.flat import COLUMNS, to_row
from advisor.coupons.importing import (
    DECIDING,
    From,
    Reading,
    Table,
    kind_of,
    own_map,
    read_coupons,
    read_table,
)
from advisor.csv_cells import guarded_row
from advisor.errors import AdvisorError
from advisor.language import msg, say
from advisor.pages.parts import tour, whole_log
from advisor.pages.parts.entry import pick
from advisor.pages.parts.plain import plain
from advisor.pages.parts.result_entry import FLAGS
from advisor.pages.parts.ways import no_machine
from advisor.pages.session import Session, aside
from advisor.store.backups.daily import last_backup
from advisor.store.engine import default_url
from advisor.units import FIELDS, NO_CALIBRATION, label
from advisor.weld.machine import Machine

#: Choices in place of a column, and messages for `say`.
CONSTANT, LEAVE = msg("the same for every row …"), msg("leave empty")
#: Different words of a foreign column that are asked about one by one at most.
_MOST_WORDS = 12
_NEEDED = (
    "made_at",
    "welder",
    "machine",
    "sheet1_thickness_mm",
    "sheet2_thickness_mm",
    "face_mm",
    "current_kA",
    "weld_ms",
    "force_kN",
    *DECIDING,
    "interface1_smallest_mm",
    "interface1_largest_mm",
    "interface1_failure",
    "expulsion",
)


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Files"))
    st.subheader(say("Out"))
    with st.container(horizontal=True, vertical_alignment="center"):
        st.download_button(
            say("All coupons as CSV"),
            data=lambda: _export(session),
            file_name="coupons.csv",
            mime="text/csv",
            on_click="ignore",
        )
        whole_log.downloads(session)
    if not session.log.recent_coupons(1):
        st.caption(
            say(
                "No coupon is logged yet: the file of coupons holds its heading alone. It shows "
                "the columns that Coupons in reads without asking."
            )
        )
    st.subheader(say("Coupons in"))
    _coupons_in(session)
    whole_log.bring_in(session)
    if not aside():
        _backup()
        _demo()


def _demo() -> None:
    """Offer the demo shop to a class or a new colleague; the log stays as it is."""
    st.subheader(say("The demo shop"))
    st.caption(say("It is a database of its own: nothing in it can mix with your records."))
    if st.button(say("Look round the demo shop")):
        tour.begin()


def _backup() -> None:
    """Say how the last backup of the shop's log went."""
    st.subheader(say("Backup"))
    state = last_backup(default_url())
    if state.ok or state.at is None:
        st.caption(say("A copy is made each day by itself; {state}.", state=plain(state.text)))
    else:
        st.warning(say("The last backup did not go well: {state}", state=plain(state.text)))


def _coupons_in(session: Session) -> None:
    upload = st.file_uploader(say("CSV file, UTF-8, at most 10 MB"), type=["csv", "txt"])
    if upload is None:
        st.caption(say("Nothing is stored before you have seen the preview and every row is good."))
        return
    try:
        table = read_table(upload.getvalue())
    except AdvisorError as error:
        st.error(plain(error))
        return
    machine = _machine(session)
    mapping = _mapping(session, table, machine)
    lost = st.text_input(say("Texts that mark a lost reading, besides empty cells"), value="-99")
    try:
        reading = read_coupons(
            table,
            mapping,
            machine.calibration if machine else NO_CALIBRATION,
            frozenset(text.strip() for text in lost.split(",") if text.strip()),
            needed=DECIDING,
            now=datetime.now().astimezone(),
        )
    except AdvisorError as error:
        st.error(plain(error))
        return
    _preview(session, reading)


def _export(session: Session) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, ["number", *COLUMNS, "verdict", "voided"])
    writer.writeheader()
    for row in _rows(session):
        writer.writerow(guarded_row(row))
    return text.getvalue().encode("utf-8")


def _rows(session: Session) -> Iterator[dict[str, str]]:
    for logged in session.log.iter_coupons():
        yield {
            "number": str(logged.number),
            **to_row(logged.coupon),
            "verdict": logged.verdict.outcome.value,
            "voided": logged.voided,
        }


def _machine(session: Session) -> Machine | None:
    machines = session.log.machines()
    if not machines:
        no_machine(session, "files")
        return None
    name = st.selectbox(
        say("Machine whose mains and force calibration hold for this file"),
        [machine.name for machine in machines],
    )
    return session.log.machine(name)


def _mapping(session: Session, table: Table, machine: Machine | None) -> dict[str, From]:
    own = own_map(table.header)
    if "made_at" in own and "sheet1_thickness_mm" in own:
        st.caption(say("The file has this tool's own columns."))
        return own
    st.markdown(say("**Which column is what?** Guessed from the names; correct what is wrong."))
    guesses = guess_map(table.header)
    guesses["machine"] = From(constant=machine.name if machine else "")
    guesses.setdefault("welder", From(constant=session.who))
    guesses.setdefault("made_at", From(constant=f"{datetime.now().astimezone():%Y-%m-%dT%H:%M%z}"))
    more = st.multiselect(
        say("More columns"), [c for c in COLUMNS if c not in _NEEDED], format_func=title
    )
    found = {}
    for target in [*_NEEDED, *more]:
        source = _ask_source(target, table, guesses.get(target, From()))
        if source is not None:
            found[target] = source
    return found


def _ask_source(target: str, table: Table, guess: From) -> From | None:
    options = [LEAVE, CONSTANT, *table.header]
    first = guess.column or (CONSTANT if guess.constant else LEAVE)
    left, right = st.columns([3, 2])
    with left:
        chosen = st.selectbox(
            title(target),
            options,
            index=options.index(first),
            format_func=_source_words,
            key=f"map·{target}",
        )
    if chosen == LEAVE:
        return None
    with right:
        if chosen == CONSTANT:
            return _ask_constant(target, guess)
        kind = kind_of(target)
        if kind:
            units = FIELDS[kind].allowed
            first_unit = units.index(guess.unit) if guess.unit in units else 0
            unit = st.selectbox(
                say("Unit: {column}", column=title(target)),
                units,
                index=first_unit,
                format_func=label,
                key=f"map·{target}·u",
            )
            return From(chosen, unit)
    return _ask_words(target, chosen, table)


def _source_words(option: str) -> str:
    """Return a choice in words; a column keeps its own."""
    return say(option) if option in (LEAVE, CONSTANT) else option


def _ask_constant(target: str, guess: From) -> From:
    words = words_of(target)
    heading = say("Value: {column}", column=title(target))
    if words is not None:
        return From(constant=pick(heading, list(words), f"map·{target}·c").value)
    unit = FIELDS[kind_of(target)].unit if kind_of(target) else ""
    heading += f" [{label(unit)}]" if unit else ""
    return From(constant=st.text_input(heading, value=guess.constant, key=f"map·{target}·c"))


def _ask_words(target: str, column: str, table: Table) -> From:
    """Ask what the file's own words mean where a column takes ours."""
    words = words_of(target)
    if words is None and target not in FLAGS:
        return From(column)
    said = sorted({row[column].strip() for row in table.rows} - {""})[:_MOST_WORDS]
    if words is None:
        yes = st.multiselect(say("Words that mean yes"), said, key=f"map·{target}·w")
        return From(column, words=dict.fromkeys(yes, "yes"), other="no")
    meant = {}
    for word in said:
        ours = st.selectbox(
            say("“{word}” means", word=plain(word)),
            [None, *words],
            format_func=lambda w: say("not said") if w is None else w.label,
            key=f"map·{target}·{word}",
        )
        meant[word] = ours.value if ours else ""
    return From(column, words=meant, other="")


def _preview(session: Session, reading: Reading) -> None:
    good, bad = len(reading.coupons), len(reading.problems)
    st.markdown(say("**{good}** rows can be read, **{bad}** cannot.", good=good, bad=bad))
    if reading.voided:
        st.caption(
            say(
                "{voided} rows were voided where they come from; they stay out.",
                voided=reading.voided,
            )
        )
    _show_problems(reading)
    if reading.coupons:
        rows = pd.DataFrame([to_row(coupon) for coupon in reading.coupons[:20]])
        filled = rows.loc[:, (rows != "").any()].rename(columns=title)
        st.dataframe(filled, hide_index=True, width="stretch", alt=say("First rows as read"))
    ready = good > 0 and bad == 0
    if st.button(say("Import {coupons} coupons", coupons=good), type="primary", disabled=not ready):
        _import(session, reading)


def _show_problems(reading: Reading) -> None:
    if not reading.problems:
        return
    st.error(say("Nothing is imported while a row cannot be read. Mend these lines:"))
    st.dataframe(
        pd.DataFrame([{say("line"): p.line, say("why"): p.reason} for p in reading.problems]),
        hide_index=True,
        width="stretch",
        alt=say("Rows that cannot be read"),
    )


def _import(session: Session, reading: Reading) -> None:
    try:
        numbers = session.log.import_coupons(reading.coupons, session.who)
    except AdvisorError as error:
        st.error(plain(error))
        return
    known = len(reading.coupons) - len(numbers)
    said = say("{coupons} coupons imported and judged.", coupons=len(numbers))
    if known:
        already = say("{known} were in the log already and were left out.", known=known)
        said = f"{said} {already}"
    st.session_state["said"] = said
    st.rerun()
