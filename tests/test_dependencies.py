"""What pyproject.toml names, .locked.txt pins, pip installed and the code imports agree."""

import ast
import functools
import itertools
import re
import sys
import tomllib
from collections.abc import Iterable
from importlib import metadata
from pathlib import Path

import pytest
from hatchling.build import get_requires_for_build_editable
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parent.parent
LOCK = ".locked.txt"
RENEW = f"its first lines say how to renew {LOCK}"
INSTALL = "the README's test command installs what is pinned"
PIN = re.compile(r"([A-Za-z0-9][A-Za-z0-9._-]*)==(\S+)")
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
PLATFORMS = (
    {"sys_platform": "linux", "os_name": "posix", "platform_system": "Linux"},
    {"sys_platform": "win32", "os_name": "nt", "platform_system": "Windows"},
    {"sys_platform": "darwin", "os_name": "posix", "platform_system": "Darwin"},
)
PLACES = [
    {**platform, "python_version": python, "python_full_version": f"{python}.0"}
    for platform, python in itertools.product(PLATFORMS, PYTHONS)
]


def pins_in(text: str) -> dict[str, Version]:
    """Return the version of each package by its canonical name; a line is a pin or a comment."""
    pins: dict[str, Version] = {}
    for line in filter(None, (line.partition("#")[0].strip() for line in text.splitlines())):
        found = PIN.fullmatch(line)
        assert found, f"not one NAME==VERSION: {line}"
        name = canonicalize_name(found[1])
        assert name not in pins, f"pinned twice: {name}"
        pins[name] = Version(found[2])
    return pins


PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
#: Extras that no command of the README installs.
UNPINNED = {"openid"}
PINS = pins_in((ROOT / LOCK).read_text(encoding="utf-8"))
EXTRAS = {
    extra: [Requirement(text) for text in texts]
    for extra, texts in PYPROJECT["project"]["optional-dependencies"].items()
    if extra not in UNPINNED
}
RUNTIME = [Requirement(text) for text in PYPROJECT["project"]["dependencies"]]
BUILD = [Requirement(text) for text in PYPROJECT["build-system"]["requires"]]
DECLARED = [*RUNTIME, *itertools.chain.from_iterable(EXTRAS.values())]


def names(requirements: Iterable[Requirement]) -> set[str]:
    return {canonicalize_name(each.name) for each in requirements}


def unmet(requirements: Iterable[Requirement], versions: dict[str, Version]) -> list[str]:
    """Return the requirements that the versions lack or do not satisfy."""
    lacking = []
    for each in requirements:
        version = versions.get(canonicalize_name(each.name))
        if version is None or not each.specifier.contains(version, prereleases=True):
            lacking.append(f"{each} (pinned: {version})")
    return lacking


@functools.cache
def asked_by(name: str) -> list[Requirement]:
    """Return all that an installed package may ask for anywhere; nothing for one not installed."""
    try:
        return [Requirement(text) for text in metadata.requires(name) or []]
    except metadata.PackageNotFoundError:
        return []


def wanted_by(requirement: Requirement, place: dict[str, str]) -> list[Requirement]:
    """Return what a package with its extras asks for at a place."""
    environments = [place | {"extra": extra} for extra in ("", *requirement.extras)]
    return [
        each
        for each in asked_by(canonicalize_name(requirement.name))
        if each.marker is None or any(map(each.marker.evaluate, environments))
    ]


def with_all_they_want(roots: list[Requirement], place: dict[str, str]) -> list[Requirement]:
    """Return requirements and, step by step, what they want at a place."""
    seen: dict[str, Requirement] = {}
    waiting = [each for each in roots if each.marker is None or each.marker.evaluate(place)]
    while waiting:
        each = waiting.pop()
        if str(each) not in seen:
            seen[str(each)] = each
            waiting += wanted_by(each, place)
    return list(seen.values())


# --- the pins -----------------------------------------------------------------------------------


def test_every_declared_dependency_is_pinned_within_its_bounds():
    assert unmet([*DECLARED, *BUILD], PINS) == [], RENEW


@pytest.mark.parametrize(
    "place", PLACES, ids=lambda p: f"{p['sys_platform']}-{p['python_version']}"
)
def test_all_that_the_dependencies_want_is_pinned_within_bounds(place):
    everything = with_all_they_want(DECLARED, place)
    assert len(names(everything)) > len(names(DECLARED))
    assert unmet(everything, PINS) == [], RENEW


def test_nothing_is_pinned_that_nobody_wants():
    wanted = set().union(*(names(with_all_they_want([*DECLARED, *BUILD], p)) for p in PLACES))
    assert set(PINS) - wanted == set(), RENEW


@pytest.mark.parametrize(
    ("text", "lacking"),
    [
        ("NumPy==2.4.6  # arrays", []),
        ("numpy==1.26.4", ["numpy>=2 (pinned: 1.26.4)"]),
        ("scipy==1.17.1", ["numpy>=2 (pinned: None)"]),
    ],
)
def test_the_comparison_can_fail(text, lacking):
    assert unmet([Requirement("numpy>=2")], pins_in(text)) == lacking


@pytest.mark.parametrize(
    "line",
    ["numpy>=2", "numpy", "-e .", "numpy @ file:///numpy.whl", "numpy==2.4.6 --hash=sha256:00"],
)
def test_a_line_that_is_no_pin_is_refused(line):
    with pytest.raises(AssertionError, match=re.escape(f"not one NAME==VERSION: {line}")):
        pins_in(line)


def test_a_package_pinned_twice_is_refused():
    with pytest.raises(AssertionError, match="pinned twice: mypy-extensions"):
        pins_in("mypy_extensions==1.2.0\nmypy-extensions==1.1.0")


# --- what installs them -------------------------------------------------------------------------


def test_the_installed_packages_are_the_pinned_ones():
    installed = {canonicalize_name(d.name): Version(d.version) for d in metadata.distributions()}
    assert names(DECLARED) - set(installed) == set(), INSTALL
    other = [
        f"{name} {version} is installed, {PINS[name]} is pinned"
        for name, version in sorted(installed.items())
        if name in PINS and PINS[name] != version
    ]
    assert other == [], f"{INSTALL}; if the installed ones are meant, {RENEW}"


def test_the_install_commands_of_the_readme_use_the_pins():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^.*pip install\b.* -e .*$", readme, re.MULTILINE)
    assert len(commands) == 2
    assert [line for line in commands if f" -c {LOCK} " not in line] == []


def test_the_build_tools_are_the_pinned_ones():
    # pip builds the project apart, where -c does not reach.
    exact = {f"{canonicalize_name(each.name)}{each.specifier}" for each in BUILD}
    assert exact == {f"{name}=={PINS[name]}" for name in names(BUILD)}, RENEW


def test_every_build_tool_is_named(monkeypatch):
    monkeypatch.chdir(ROOT)
    asked = [*BUILD, *map(Requirement, get_requires_for_build_editable())]
    wanted = itertools.chain.from_iterable(with_all_they_want(asked, place) for place in PLACES)
    assert names(wanted) - names(BUILD) == set()


# --- what is imported ---------------------------------------------------------------------------


def imported_by(source: str) -> set[str]:
    """Return the top-level packages a module imports, at its top or anywhere inside."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found.add(node.module.partition(".")[0])
    return found


@functools.cache
def owners() -> dict[str, set[str]]:
    """Return the distributions, by canonical name, that bring each top-level package."""
    found = metadata.packages_distributions()
    return {package: set(map(canonicalize_name, those)) for package, those in found.items()}


def undeclared(packages: Iterable[str], declared: set[str]) -> list[str]:
    """Return the packages of others that come from no declared distribution."""
    foreign = set(packages) - sys.stdlib_module_names - {"advisor"}
    return sorted(each for each in foreign if not declared & owners().get(each, set()))


def test_every_package_imported_is_declared():
    users = [group for extra, group in EXTRAS.items() if extra != "test"]
    declared = names(itertools.chain(RUNTIME, *users))
    paths = [ROOT / "app.py", *sorted((ROOT / "advisor").rglob("*.py"))]
    found = {p: undeclared(imported_by(p.read_text(encoding="utf-8")), declared) for p in paths}
    assert {str(p.relative_to(ROOT)): each for p, each in found.items() if each} == {}


def test_the_import_check_sees_what_is_hidden():
    source = "import os.path\nfrom . import a\ndef f():\n from sklearn.svm import SVC\n import yy"
    assert imported_by(source) == {"os", "sklearn", "yy"}
    assert undeclared({"os", "sklearn", "yy", "advisor"}, {"scikit-learn"}) == ["yy"]
    assert undeclared({"sklearn"}, {"numpy"}) == ["sklearn"]
