"""What a file is refused with follows the language; what is written into one does not."""

import io

import pytest
from exchange_makers import NOW, header_of

from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.arrived import Counted
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.kinds import KINDS
from advisor.exchange.log_file import LogFile
from advisor.exchange.numbering import Renumbered
from advisor.exchange.tables import write_tables
from advisor.language import speaking
from advisor.people.roles import Role

RECORDS = [r.Person("Kim", Role.LEAD, NOW), r.Person("Kim", Role.LEAD, None)]


def written(write):
    file = io.BytesIO()
    write(file, header_of(RECORDS), RECORDS)
    return file.getvalue()


def test_a_refusal_and_its_line_are_in_the_language_spoken(pseudo):
    file = LogFile(io.BytesIO(written(write_json_lines)))
    with speaking("de"):
        (problem,) = file.problems()
        assert problem == "⟦line 3⟧: ⟦⟦person Kim⟧ comes twice; it must come once⟧"
        with pytest.raises(InputError, match=r"^⟦person\.csv, line 3⟧: ⟦⟦person Kim⟧ comes twice"):
            list(LogFile(io.BytesIO(written(write_tables))).records())
    assert file.problems() == ["line 3: person Kim comes twice; it must come once"]


def test_files_are_the_same_in_every_language(pseudo):
    lines, tables = written(write_json_lines), written(write_tables)
    with speaking("de"):
        assert written(write_json_lines) == lines
        assert written(write_tables) == tables


def test_every_kind_has_words(pseudo):
    for kind in KINDS:
        words = kind.name.replace("_", " ")
        assert kind.words == words
        with speaking("de"):
            assert kind.words == f"⟦{words}⟧"


def test_what_came_in_is_told_in_the_language_spoken(pseudo):
    with speaking("de"):
        assert str(Counted("usual_joint", 1200, 0)) == "⟦⟦usual joint⟧: 1.200 new, 0 known⟧"
        assert str(Renumbered(3, 3, 5)) == "⟦coupon #3 of the file is #5 here⟧"
