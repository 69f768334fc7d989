"""Which figures can reach a screen, read from the code, and where the tables say they come from.

Two tables of ``reference/``: `FIGURES` has the figures that stand in sentences, by the words round
them; `PLACES` has the places of sentences through which figures come, by name and module, and under
the name `OUTSIDE` the modules that write figures outside of any sentence.
"""

import ast
import csv
import re
import string
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

from babel.messages.extract import extract_from_dir

ROOT = Path(__file__).resolve().parent.parent
ADVISOR = ROOT / "advisor"
FIGURES, PLACES = "figures_on_screen.csv", "places_on_screen.csv"
#: Stands among the places for figures that a module writes outside of any sentence.
OUTSIDE = "figure"
SAY = ("say", "say_number")
#: What marks a sentence, and which of its arguments are one.
KEYWORDS = {"say": None, "msg": None, "say_number": (1, 2)}

_NUMBER = re.compile(r"\d+(?:[.,:]\d+)*")
_PLACE = re.compile(r"\{(\w+)[^{}]*\}")
_QUANTITIES = {"current", "time", "force", "thickness", "diameter", "length", "temperature"}


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    with (ROOT / "reference" / name).open(encoding="utf-8", newline="") as opened:
        return tuple(csv.DictReader(opened))


# --- sentences and the figures that stand in them -----------------------------------------------


@cache
def marked() -> tuple[tuple[str, str | tuple[str, str]], ...]:
    """Return all that the program marks, by module: a text, or a pair for one and for many."""
    methods = [("**.py", "python")]
    found = extract_from_dir(ADVISOR, method_map=methods, keywords=KEYWORDS)
    return tuple((module, message) for module, _, message, _, _ in found)


@cache
def sentences() -> dict[str, set[str]]:
    """Return every English sentence with the modules, below advisor/, that hold it."""
    found = defaultdict(set)
    for module, message in marked():
        for text in [message] if isinstance(message, str) else message:
            found[text].add(module)
    return dict(found)


def tidy(text: str) -> str:
    """Take the formats out of the places, so that what is left of digits stands in the words."""
    return _PLACE.sub(r"{\1}", text)


def untraced(sentence: str, words: tuple[str, ...]) -> tuple[list[str], set[str]]:
    """Return the figures of a sentence that none of the words hold, and the words that hold one."""
    text = tidy(sentence)
    if not _NUMBER.search(text):
        return [], set()
    hidden = _PLACE.sub(lambda place: " " * len(place[0]), text)
    left = {match.span(): match[0] for match in _NUMBER.finditer(hidden)}
    used = set()
    for each in words:
        for at in re.finditer(re.escape(tidy(each)), text):
            held = [s for s in left if at.start() <= s[0] and s[1] <= at.end()]
            used |= {each} if held else set()
            for span in held:
                del left[span]
    return list(left.values()), used


def places(sentence: str) -> dict[str, str]:
    """Return the places of a sentence with their formats."""
    parsed = string.Formatter().parse(sentence)
    return {name: form or "" for _, name, form, _ in parsed if name is not None}


# --- places, by name and module -----------------------------------------------------------------


class Traced(NamedTuple):
    """A line of `PLACES`, and which of its modules fits."""

    line: dict[str, str]
    where: str


@cache
def tracing() -> dict[tuple[str, str], dict[str, str]]:
    """Return the lines of `PLACES`, see `by_place`."""
    return by_place(table(PLACES))


def by_place(lines: tuple[dict[str, str], ...]) -> dict[tuple[str, str], dict[str, str]]:
    """Return the lines by place and module, or beginning of modules."""
    found = {}
    for line in lines:
        for place in line["places"].split():
            for where in line["where"].split() or [""]:
                assert (place, where) not in found, f"{place} is in two lines for {where!r}"
                found[place, where] = line
    return found


def trace(place: str, module: str, found: dict[tuple[str, str], dict[str, str]]) -> Traced | None:
    """Return the line for a place: that of the longest beginning of its module."""
    ends = [i for i in range(len(module), -1, -1) if (place, module[:i]) in found]
    return Traced(found[place, module[: ends[0]]], module[: ends[0]]) if ends else None


@cache
def places_said() -> tuple[tuple[str, str, str], ...]:
    """Return place, module and format of every place of every sentence."""
    return tuple(_places_said())


def _places_said() -> Iterator[tuple[str, str, str]]:
    for sentence, modules in sentences().items():
        for place, form in places(sentence).items():
            for module in modules:
                yield place, module, form
    for module in writing_outside():
        yield OUTSIDE, module, ""


# --- code ---------------------------------------------------------------------------------------


@cache
def trees() -> dict[str, ast.Module]:
    """Return every module, by its path below advisor/, as its syntax tree."""
    files = (path for path in ADVISOR.rglob("*.py") if "migrations" not in path.parts)
    return {
        str(path.relative_to(ADVISOR)): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted(files)
    }


def is_saying(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAY


@cache
def writing_outside() -> list[str]:
    """Return the modules that write figures outside of the values of a sentence."""
    return [name for name, tree in trees().items() if _writes(tree, said=False)]


def _writes(node: ast.AST, *, said: bool) -> bool:
    for child in ast.iter_child_nodes(node):
        if not said and _is_writing(child):
            return True
        if _writes(child, said=said or is_saying(child)):
            return True
    return False


def _is_writing(node: ast.AST) -> bool:
    """Return whether a call writes a number as a text, with or without its unit."""
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
    if name in ("figure", "percent", "in_mm", "dials"):
        return True
    if name == "thickness":
        return ast.unparse(node.func).endswith("session.thickness")
    first = node.args[0] if node.args else None
    return (
        name in ("show", "split") and isinstance(first, ast.Constant) and first.value in _QUANTITIES
    )


def constants_said() -> Iterator[tuple[str, str, str]]:
    """Yield module, place and constant wherever a constant is handed to a sentence by name."""
    for module, tree in trees().items():
        for node in ast.walk(tree):
            for keyword in node.keywords if is_saying(node) else ():
                for name in _own_names(keyword.value):
                    if home := _home(module, name):
                        yield module, keyword.arg or "", home


def _own_names(node: ast.AST) -> Iterator[str]:
    """Yield the names in a value, but not those handed to another sentence in it."""
    if isinstance(node, ast.Name):
        yield node.id
    for child in () if is_saying(node) else ast.iter_child_nodes(node):
        yield from _own_names(child)


def _home(module: str, name: str) -> str:
    """Return where a numeric constant used in a module is defined; empty where it is none."""
    if name in (mine := constants()).get(module, {}):
        return f"{_dotted(module)}.{name}"
    for node in trees()[module].body:
        if isinstance(node, ast.ImportFrom) and name in {a.asname or a.name for a in node.names}:
            home = (node.module or "").removeprefix("advisor.").replace(".", "/") + ".py"
            return f"{_dotted(home)}.{name}" if name in mine.get(home, {}) else ""
    return ""


def _dotted(module: str) -> str:
    return module.removesuffix(".py").replace("/", ".")


# --- constants ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Constant:
    """A number with a name, or the default of a field, and what is written beside it."""

    module: str
    name: str
    beside: str
    is_public: bool

    @property
    def where(self) -> str:
        return f"{_dotted(self.module)}.{self.name}"


@cache
def constants() -> dict[str, dict[str, Constant]]:
    """Return numbers of module level, and defaults of fields, by module and name."""
    found = {}
    for module, tree in trees().items():
        lines = (ADVISOR / module).read_text(encoding="utf-8").splitlines()
        each = [*_of_module(module, tree, lines), *_of_fields(module, tree)]
        found[module] = {constant.name: constant for constant in each}
    return found


def _of_module(module: str, tree: ast.Module, lines: list[str]) -> Iterator[Constant]:
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and _is_number(node.value):
            first = node.lineno - 1
            while lines[first - 1].startswith("#"):
                first -= 1
            beside = " ".join(line.lstrip("#: ") for line in lines[first : node.lineno - 1])
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)]
            for name in names:
                yield Constant(module, name, beside, not name.startswith("_"))


def _of_fields(module: str, tree: ast.Module) -> Iterator[Constant]:
    """Yield defaults of fields: what stands at the field, and above the list of fields."""
    for owner in (node for node in tree.body if isinstance(node, ast.ClassDef)):
        head, _, fields = (ast.get_docstring(owner) or "").partition("Parameters\n---")
        for node in owner.body:
            if isinstance(node, ast.AnnAssign) and _is_number(node.value) and not _is_few(node):
                name = ast.unparse(node.target)
                own = re.search(rf"^(?=.*\b{name}\b)[\w, ]+ : .*\n((?:[ \t]+.*\n?)*)", fields, re.M)
                beside = " ".join(f"{head} {own[1] if own else ''}".split())
                yield Constant(module, f"{owner.name}.{name}", beside, owner.name[0] != "_")


def _is_number(value: ast.AST | None) -> bool:
    """Return whether a value has a number in it."""
    numbers = (each.value for each in ast.walk(value) if isinstance(each, ast.Constant))
    return value is not None and any(type(each) in (int, float) for each in numbers)


def _is_few(node: ast.AnnAssign) -> bool:
    """Return whether a default is none or one, which no source is needed for."""
    return ast.unparse(node.value) in ("0", "0.0", "1") if node.value else True


@cache
def deciding(module: str) -> set[str]:
    """Return the names that a module compares something with, or hands to a sentence."""
    found = set()
    for node in ast.walk(trees()[module]):
        parts = [keyword.value for keyword in node.keywords] if is_saying(node) else []
        for part in [node] if isinstance(node, ast.Compare) else parts:
            found |= {each.id for each in ast.walk(part) if isinstance(each, ast.Name)}
    return found
