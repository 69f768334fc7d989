"""The docstrings, the sources and the errors keep what they promise."""

import ast
import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from advisor import errors
from advisor.resources import home, reference
from advisor.weld.published import Schedule

ROOT = Path(__file__).resolve().parent.parent
SOURCES = (ROOT / "reference" / "SOURCES.md").read_text(encoding="utf-8")
#: Unit in brackets that a name ending so must have beside it.
UNIT_OF_ENDING = {
    "_mm": "[mm]",
    "_kA": "[kA]",
    "_ms": "[ms]",
    "_kN": "[kN]",
    "_min": "[min]",
    "_degC": "[degC]",
    "_hz": "[Hz]",
    "_kN_per_bar": "[kN/bar]",
    "_days": "[days]",
}
_UNITS_LONGEST_FIRST = sorted(UNIT_OF_ENDING, key=len, reverse=True)


@dataclass(frozen=True)
class Thing:
    """A public function, method or class as its source shows it."""

    where: str
    node: ast.FunctionDef | ast.ClassDef
    owner: ast.ClassDef | None

    @property
    def doc(self) -> str:
        """Its docstring and, for a method, that of its class."""
        own = ast.get_docstring(self.node) or ""
        return own + "\n" + (ast.get_docstring(self.owner) or "" if self.owner else "")

    def quantities(self) -> Iterator[str]:
        """Parameters and fields, by name."""
        if isinstance(self.node, ast.ClassDef):
            for line in self.node.body:
                if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
                    yield line.target.id
        else:
            arguments = self.node.args
            for each in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs):
                yield each.arg


def public_things() -> Iterator[Thing]:
    for path in sorted((ROOT / "advisor").rglob("*.py")):
        inside = path.relative_to(ROOT)
        if "migrations" in inside.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        yield from _public_in(tree, str(inside), None)


def _public_in(
    node: ast.Module | ast.ClassDef, where: str, owner: ast.ClassDef | None
) -> Iterator[Thing]:
    for child in node.body:
        if isinstance(child, ast.FunctionDef | ast.ClassDef) and not child.name.startswith("_"):
            name = f"{where}:{child.name}"
            yield Thing(name, child, owner)
            if isinstance(child, ast.ClassDef):
                yield from _public_in(child, name, child)


def unit_of(name: str) -> str:
    """Return the bracketed unit a name promises, empty for none."""
    return next((UNIT_OF_ENDING[end] for end in _UNITS_LONGEST_FIRST if name.endswith(end)), "")


def entry_for(name: str, doc: str) -> str:
    """Return the description of a parameter; in a docstring without such a list, all of it."""
    if "----" not in doc:
        return doc
    found = re.search(rf"^(?=.*\b{name}\b)[\w, ]+ : .*\n((?:[ \t]+.*\n?|\n)*)", doc, re.MULTILINE)
    return found[1] if found else ""


def missing_units(thing: Thing) -> list[str]:
    return [
        f"{thing.where}({name}) {unit_of(name)}"
        for name in thing.quantities()
        if not name.startswith("_")
        and unit_of(name)
        and unit_of(name) not in entry_for(name, thing.doc)
    ]


THINGS = list(public_things())


def test_the_walk_finds_the_core_and_the_pages():
    found = {thing.where for thing in THINGS}
    assert {
        "advisor/units.py:to_inner",
        "advisor/weld/stack.py:Stack:turned_over",
        "advisor/coupons/coverage.py:assess",
        "advisor/bonding/adhesive.py:Adhesive",
        "advisor/pages/session.py:Session:thickness",
    } <= found


def test_every_public_thing_has_a_docstring():
    assert [t.where for t in THINGS if not ast.get_docstring(t.node)] == []


def test_every_quantity_has_its_unit_in_brackets():
    assert [each for thing in THINGS for each in missing_units(thing)] == []


@pytest.mark.parametrize(
    ("doc", "missing"),
    [
        ("Do it.\n\nParameters\n----------\nface_mm : float\n    Face. [mm]\n", False),
        ("Do it.\n\nParameters\n----------\na, face_mm : float\n    Faces.\n    [mm]\n", False),
        ("Do it.\n\nParameters\n----------\nface_mm : float\n    Face. [kN]\n", True),
        ("Do it.\n\nParameters\n----------\na : float\n    Face. [mm]\nface_mm : float\n", True),
        ("Do it with a face of so much. [mm]\n", False),
        ("Do it.\n", True),
    ],
)
def test_the_unit_check_can_fail(doc, missing):
    tree = ast.parse("def weld(face_mm): ...")
    (node,) = tree.body
    node.body.insert(0, ast.Expr(ast.Constant(doc)))
    assert bool(missing_units(Thing("weld", node, None))) is missing


# --- sources ------------------------------------------------------------------------------------


def source_entries() -> dict[str, str]:
    """Return the text of each entry by its id."""
    parts = re.split(r"^## (\S+)$", SOURCES, flags=re.MULTILINE)[1:]
    assert len(parts[::2]) == len(set(parts[::2])), "an id is used twice"
    return dict(zip(parts[::2], parts[1::2], strict=True))


def source_ids_in_tables() -> set[str]:
    found = set()
    for path in (ROOT / "reference").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as opened:
            for row in csv.DictReader(opened):
                found |= {row[key] for key in ("source", "source_id") if row.get(key)}
    return found


def source_ids_in_code() -> set[str]:
    """Return every text given to something called source_id."""
    found = {schedule.source_id for schedule in Schedule}
    for path in (ROOT / "advisor").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r"\b(?i:source_id)\b(?:: str)? ?= ?\"([^\"]+)\"", text))
    return found


def test_every_source_id_has_an_entry():
    named = source_ids_in_code() | source_ids_in_tables()
    assert named - {"from memory"} - set(source_entries()) == set()


@pytest.mark.parametrize("part", ["Citation", "Used", "Label", "Licence"])
def test_every_entry_is_complete(part):
    lacking = [
        name
        for name, text in source_entries().items()
        if not re.search(rf"^- {part}: \S", text, re.MULTILINE)
    ]
    assert lacking == []


def test_every_label_is_one_of_three():
    for name, text in source_entries().items():
        label = re.search(r"^- Label: (.*)$", text, re.MULTILINE)[1]
        assert re.match(r"(read|from memory|computed)\b", label), name


def test_every_table_is_named_with_its_sources():
    tables = {path.name for path in (ROOT / "reference").glob("*.csv")}
    assert [name for name in sorted(tables) if f"`{name}`" not in SOURCES] == []


def test_every_standard_named_in_the_code_is_in_the_list():
    pattern = re.compile(r"(?:ISO|IEC|AWS|EN|ANSI|RFC) [A-Z]?\d[\d.]*M?(?:-\d+)*|\d{4}/\d+/EU")
    listed = SOURCES.replace("/", " / ").replace("2013 / 35 / EU", "2013/35/EU")
    named = set()
    for path in (ROOT / "advisor").rglob("*.py"):
        named |= {m.rstrip(".") for m in pattern.findall(path.read_text(encoding="utf-8"))}
    # ISO 8601 is how a time is written, RFC 5737 has addresses for examples: no sources of figures.
    assert {name for name in named - {"ISO 8601", "RFC 5737"} if name not in listed} == set()


def test_every_article_named_in_the_code_is_in_the_list():
    volumes = re.compile(r"[A-Z][a-z]+\.? (\d+)(?:\(\d+\))?, ((?:19|20)\d\d)\b")
    listed = set(volumes.findall(SOURCES))
    named = set()
    for path in (ROOT / "advisor").rglob("*.py"):
        text = re.sub(r"\n *(?:#:? )?", " ", path.read_text(encoding="utf-8"))
        named |= set(volumes.findall(text))
    assert len(named) > 5
    assert named - listed == set()
    assert not set(volumes.findall("Technometrics 33(2), 1991")) <= listed


# --- errors and resources -----------------------------------------------------------------------


def test_every_error_is_an_advisor_error_and_a_builtin():
    kinds = [e for e in vars(errors).values() if isinstance(e, type) and e.__doc__]
    assert len(kinds) > 5
    for kind in kinds:
        assert issubclass(kind, errors.AdvisorError)
        if kind is not errors.AdvisorError:
            bases = {base.__module__ for base in kind.__mro__[2:]}
            assert issubclass(kind, ValueError | LookupError | OSError | RuntimeError), kind
            assert "builtins" in bases


def test_reference_tables_are_found_beside_the_code():
    assert home() == ROOT
    assert reference("SOURCES.md") == ROOT / "reference" / "SOURCES.md"
