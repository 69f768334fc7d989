"""Every figure that can stand on a screen has its origin in a table or beside its constant."""

import re

import pytest
from test_docs import source_entries
from traced import (
    FIGURES,
    OUTSIDE,
    PLACES,
    by_place,
    constants,
    constants_said,
    deciding,
    places_said,
    sentences,
    table,
    trace,
    tracing,
    untraced,
)

from advisor.resources import reference

#: What an origin may be, besides a source id of SOURCES.md.
FIGURE_ORIGINS = {
    "from memory",
    "common practice, no source",
    "choice of this project",
    "limit of entry",  # beyond it a number is taken for a slip
    "definition",  # arithmetic, units, how things are counted
    "example",  # how to type something
    "invented",  # the demo shop
    "name",  # of a document, a format, a size of paper: no figure
}
PLACE_ORIGINS = {
    "words",  # names, units, sentences said elsewhere: no number of its own
    "the shop's own data",
    "worked out",  # from the shop's own data
    "the file that is read",
    "published",  # a table of reference/
    "heat model",
    "virtual machine",
    "constant",  # named in the last column, with its origin beside it in the code
    "as called",  # by others, who are in the table themselves
    *(FIGURE_ORIGINS - {"from memory"}),
}
#: Packages whose numbers can reach a screen, a verdict or an advice.
DOMAIN = ("weld", "bonding", "coupons", "learning", "review", "teaching", "heat", "people")
#: Words that say where a constant is from.
ORIGIN = re.compile(
    r"from memory|common practice|no source|choice of this project|by definition|invented"
    r"|\bISO |\bAWS |\bEN 1993|\bTWI\b|\bRFC |Steels: |Lucas|computed|measured|\.csv"
    r"|``(?P<id>[a-z0-9.-]+)``",
    re.IGNORECASE,
)
_CODE = re.compile(r"`([\w.]+)`")
_FILE = re.compile(r"`([\w.]+\.csv)`")


def words():
    return tuple(line["words"] for line in table(FIGURES))


# --- figures that stand in sentences ------------------------------------------------------------


def test_every_figure_in_a_sentence_has_an_origin():
    left = {each: found for each in sentences() if (found := untraced(each, words())[0])}
    assert left == {}, f"add the words round the figure to reference/{FIGURES}"


def test_no_line_of_the_figures_is_left_over():
    used = set().union(*(untraced(each, words())[1] for each in sentences()))
    assert [each for each in words() if each not in used] == []


def test_the_words_of_a_line_say_more_than_its_figure():
    assert [each for each in words() if not re.search(r"[^\W\d]", each)] == []
    assert len(set(words())) == len(words())


def test_the_figures_come_from_sources_that_are_listed_or_from_none():
    known = FIGURE_ORIGINS | set(source_entries())
    assert {line["origin"] for line in table(FIGURES)} - known == set()
    bare = [
        line["words"]
        for line in table(FIGURES)
        if line["origin"] in ("choice of this project", "limit of entry") and not line["why"]
    ]
    assert bare == [], "say why"


@pytest.mark.parametrize(
    ("sentence", "held", "left"),
    [
        ("Backer plate 50 mm wide.", ("plate 50 mm",), []),
        ("A backer plate of 50 mm, wide.", ("plate 50 mm",), ["50"]),
        ("Backer plate 150 mm wide.", ("50 mm wide",), ["150"]),
        ("{low:.1f} to {high}", (), []),
        ("{low:.1f} to 7.5 kA", ("{low} to 7",), ["7.5"]),
        ("{low:.1f} to 7.5 kA", ("{low:.3g} to 7.5",), []),
        ("4√{thickness:g}", (), ["4"]),
    ],
)
def test_a_figure_without_its_words_is_found(sentence, held, left):
    assert untraced(sentence, held)[0] == left


# --- places through which figures come ----------------------------------------------------------


def test_every_place_of_a_sentence_has_an_origin():
    left = {
        (place, module) for place, module, _ in places_said() if not trace(place, module, tracing())
    }
    assert left == set(), f"add it to reference/{PLACES}"


def test_no_place_and_no_module_of_a_line_is_left_over():
    met = [(place, trace(place, module, tracing())) for place, module, _ in places_said()]
    named = {(id(found.line), place) for place, found in met if found}
    held = {(id(found.line), found.where) for _, found in met if found}
    for line in table(PLACES):
        for place in line["places"].split():
            assert (id(line), place) in named, f"{place}: {line['why']}"
        for where in line["where"].split() or [""]:
            assert (id(line), where) in held, f"{where}: {line['why']}"


def test_a_place_that_is_formatted_as_a_number_is_not_called_words():
    wrong = [
        (place, module)
        for place, module, form in places_said()
        if re.search(r"[gfd%,]$", form)
        and not form.startswith("%")
        and trace(place, module, tracing()).line["origin"] == "words"
    ]
    assert wrong == []


def test_the_places_have_origins_that_are_known():
    known = PLACE_ORIGINS | set(source_entries())
    assert {line["origin"] for line in table(PLACES)} - known == set()
    assert [line["places"] for line in table(PLACES) if not line["why"]] == []


def test_a_constant_that_is_said_is_named_in_the_line_of_its_place():
    left = [
        (module, place, constant)
        for module, place, constant in constants_said()
        if (line := trace(place, module, tracing()).line)["origin"] != "words"
        and f"`{constant}`" not in line["why"]
    ]
    assert left == []


def test_tables_named_are_there():
    lines = [*table(PLACES), *table(FIGURES)]
    named = {each for line in lines for each in _FILE.findall(line["why"])}
    assert named
    assert [each for each in named if not reference(each).exists()] == []


def test_a_line_that_is_called_published_names_a_table_or_a_place_of_one():
    for line in table(PLACES):
        if line["origin"] == "published":
            assert re.search(r"table|\.csv", line["why"]), line


def test_the_longest_beginning_of_a_module_decides():
    lines = by_place(
        (
            {"places": "low high", "where": "", "origin": "worked out", "why": "-"},
            {"places": "low", "where": "weld/ bonding/clock.py", "origin": "constant", "why": "-"},
        )
    )
    assert trace("low", "weld/sheet.py", lines).line["origin"] == "constant"
    assert trace("high", "weld/sheet.py", lines).line["origin"] == "worked out"
    assert trace("low", "bonding/adhesive.py", lines).line["origin"] == "worked out"
    assert trace("middle", "weld/sheet.py", lines) is None


def test_the_walk_over_the_code_meets_what_it_should():
    said = set(places_said())
    assert ("high", "weld/sheet.py", "g") in said
    assert (OUTSIDE, "weld/size.py", "") in said
    assert ("weld/layout_flange.py", "most", "weld.layout_flange.MOST_WELDS") in set(
        constants_said()
    )
    assert ("weld/sheet.py", "high", "weld.sheet.THICKEST_MM") in set(constants_said())


# --- constants ----------------------------------------------------------------------------------


def reaching():
    """Return the constants that can reach people.

    Those of the domain: every public number of module level, every default of a public class but
    none and one, and a private number where something is compared with it or it is said. Other
    private numbers only say how finely something is worked out.
    """
    return [
        each
        for module, found in constants().items()
        if module.split("/")[0] in DOMAIN
        for each in found.values()
        if each.is_public or each.name in deciding(module)
    ]


def test_every_constant_of_the_domain_says_where_it_is_from():
    assert [each.where for each in reaching() if not ORIGIN.search(each.beside)] == []


def test_source_ids_beside_constants_are_listed():
    named = {m["id"] for each in reaching() for m in ORIGIN.finditer(each.beside) if m["id"]}
    files = {each for each in named if each.endswith(".csv")}
    assert {each for each in named - files if "-" in each} - set(source_entries()) == set()


def test_constants_named_in_the_tables_are_there_and_say_where_they_are_from():
    known = {each.where: each for found in constants().values() for each in found.values()}
    classes = {where.rpartition(".")[0] for where in known}
    for line in (*table(PLACES), *table(FIGURES)):
        for name in _CODE.findall(line["why"]):
            if name.endswith(".csv") or name in source_entries():
                continue
            assert name in known or name in classes, f"{name}: {line}"
            if line["origin"] == "constant" and name in known:
                assert ORIGIN.search(known[name].beside), name


def test_the_walk_over_constants_can_fail():
    found = {each.where: each.beside for each in reaching()}
    assert "learning.choice.WINDOW" in found
    assert "coupons.rules.CoverageRules.passes_in_a_row" in found
    assert "coupons.matching._SAME_FACE_MM" in found
    assert not ORIGIN.search("Smallest size that leaves anything to measure. [mm]")
    assert ORIGIN.search("Some share (common practice, no source).")
