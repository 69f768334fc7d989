"""Measure the heat model against finite elements; run with ``python tests/benchmarks/heat.py``.

One spot weld is calculated twice in one run, so that a slow or busy machine does not matter: by
`advisor.heat`, and by the same physics with scikit-fem, a generic finite-element library, and
SuperLU. Both share materials, cells, contacts, time steps and passes over the heat content, so that
only assembling and solving differ; both have to end with the same weld. Ours keeps pictures and a
heat balance beside it, the elements only the size of the weld.

The elements: bilinear quadrilaterals on the same rings and layers, those beside the caps left out;
capacity lumped in the nodes, which hold the heat; nodes doubled where two bodies touch, and joined
there by a conductance that is even over each ring. The library is no part of the project.
"""

import statistics
import sys
import time
from collections import Counter
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from functools import wraps
from itertools import pairwise
from operator import itemgetter
from unittest.mock import patch

import numpy as np
from scipy.sparse import csc_array, csr_array, diags_array
from scipy.sparse.linalg import splu
from threadpoolctl import threadpool_limits

from advisor.heat import diffusion, weld
from advisor.heat.body import Body
from advisor.heat.cases import published_cases
from advisor.heat.nugget import outermost
from advisor.heat.parameters import Options
from advisor.heat.properties import ROOM_DEGC
from advisor.heat.schedule import time_steps
from advisor.weld.published import Schedule

try:
    import skfem
    from skfem.helpers import dot, grad
except ImportError:
    sys.exit(
        "this comparison needs scikit-fem, which the project does not install: fetch it with "
        "`python -m pip install --target FOLDER --no-deps scikit-fem==12.0.2` and start this with "
        "PYTHONPATH=FOLDER"
    )

WELD_MS, FINENESSES, RUNS = 200, (1.0, 1.37), 3
#: Targets that the project has set itself: seconds on the finer grid, how many times faster than
#: the elements, and how far the two welds may differ.
MOST_S, LEAST_RATIO, MOST_APART = 1.0, 3.0, 0.05
#: Elements with less of their volume inside a cap are left out.
LEAST_FILLED = 0.01
#: Where a contact has no resistance left, in Ωm²: a thousandth, or less, of half a cell's.
LEAST_RESISTS = 1e-14
#: A symmetric matrix needs no search for pivots, and ordering it as one halves the time.
AS_SYMMETRIC = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0}
AS_SYMMETRIC["options"] = {"SymmetricMode": True}


class Clock:
    """Processor seconds spent in each kind of work; others on the machine do not count."""

    def __init__(self):
        self.spent = Counter()

    def times(self, kind, work):
        @wraps(work)
        def timed(*args, **kwargs):
            start = time.process_time()
            found = work(*args, **kwargs)
            self.spent[kind] += time.process_time() - start
            return found

        return timed

    @contextmanager
    def on(self, *places):
        """Time functions, each given as kind, owner and name, for a while."""
        with ExitStack() as stack:
            for kind, owner, name in places:
                timed = self.times(kind, getattr(owner, name))
                stack.enter_context(patch.object(owner, name, timed))
            yield


@skfem.BilinearForm
def flow(u, v, w):
    return w.conducts * dot(grad(u), grad(v))


@skfem.BilinearForm
def crossing(u, v, w):
    return w.conducts * u * v


@skfem.LinearForm
def load(v, w):
    return w.source * v


class Elements:
    """The mesh, its bases, and what is assembled on them.

    Elements and nodes are numbered row by row, so that those of one metal, and those held at the
    outer faces, follow each other.
    """

    def __init__(self, body, layers):
        grid = body.grid
        kept = grid.filled > LEAST_FILLED
        self.rows = rows_of_nodes(body, layers)
        self.number, places = numbered_nodes(grid, kept, self.rows)
        mesh = skfem.MeshQuad(places, quads(kept, self.number, self.rows))
        # Two points a direction are exact enough for bilinear elements; more only cost time.
        self.inside = skfem.Basis(mesh, skfem.ElementQuad1(), intorder=3)
        filled = np.broadcast_to(grid.filled[kept][:, None], self.inside.dx.shape)
        self.weight = 2 * np.pi * self.inside.global_coordinates()[0] * filled
        self.volumes = load.assemble(self.inside, source=self.weight)
        self.by_element = body_over(body, kept.sum(axis=1), np.arange(len(kept)))
        self.by_node = body_over(body, (self.number >= 0).sum(axis=1), [a for a, _ in self.rows])
        self.first, self.last = ((self.number[n] >= 0).sum() for n in (0, -1))
        self.lines = Lines(self, grid, layers)

    @property
    def free(self):
        """Nodes whose value is not held: all but the first and the last row."""
        return slice(self.first, len(self.volumes) - self.last)

    def at_points(self, nodal):
        return self.inside.interpolate(nodal)

    def matrix(self, conducts, crossings):
        within = flow.assemble(self.inside, conducts=conducts * self.weight)
        return csc_array(within + self.lines.matrix(crossings))

    def heat(self, potential, conducts, crossings):
        """Return the Joule heat of each node at a potential."""
        slopes = self.at_points(potential).grad
        made = conducts * self.weight * np.sum(slopes**2, axis=0)
        return load.assemble(self.inside, source=made) + self.lines.heat(potential, crossings)


class Lines:
    """All contacts as lines of elements, end to end, and the jump of a field across them."""

    def __init__(self, elements, grid, layers):
        above = [elements.rows.index((layer, layer + 1)) for layer in layers]
        self.sides = [(elements.number[row], elements.number[row + 1]) for row in above]
        self.counts = [int(min((side >= 0).sum() for side in pair)) - 1 for pair in self.sides]
        starts = np.concatenate(([0], np.cumsum(np.add(self.counts, 1))))
        places = np.concatenate([grid.r_faces[: count + 1] for count in self.counts])
        cells = np.concatenate([np.arange(a, b - 1) for a, b in pairwise(starts)])
        mesh = skfem.MeshLine(places[None], np.stack((cells, cells + 1)))
        self.basis = skfem.Basis(mesh, skfem.ElementLineP1(), intorder=3)
        self.weight = 2 * np.pi * self.basis.global_coordinates()[0]
        self.jump = self._difference(len(elements.volumes))
        self.back = csr_array(abs(self.jump).T) / 2

    def _difference(self, nodes):
        pairs = zip(self.sides, self.counts, strict=True)
        above, below = np.concatenate(
            [np.stack(pair)[:, : count + 1] for pair, count in pairs], axis=1
        )
        which = np.arange(len(above))
        places = (np.tile(which, 2), np.concatenate((above, below)))
        return csr_array((np.repeat([1.0, -1.0], len(which)), places), (len(which), nodes))

    def at_rings(self, nodal):
        """Return the temperature of each ring between the two sides of each contact."""
        known = np.append(nodal, ROOM_DEGC)  # A node that is missing has the number -1.
        between = [(known[above] + known[below]) / 2 for above, below in self.sides]
        return [(line[1:] + line[:-1]) / 2 for line in between]

    def over_points(self, crossings):
        cut = [each[:count] for each, count in zip(crossings, self.counts, strict=True)]
        return np.concatenate(cut)[:, None] * self.weight

    def matrix(self, crossings):
        inner = crossing.assemble(self.basis, conducts=self.over_points(crossings))
        return self.jump.T @ inner @ self.jump

    def heat(self, potential, crossings):
        drop = self.basis.interpolate(self.jump @ potential)
        made = self.over_points(crossings) * np.asarray(drop) ** 2
        return self.back @ load.assemble(self.basis, source=made)


def rows_of_nodes(body, layers):
    """Return (layer of the metal, number of the face) of each row; doubled at contacts."""
    found = [(max(face - 1, 0), face) for face in range(body.grid.shape[0] + 1)]
    return sorted(found + [(layer + 1, layer + 1) for layer in layers], key=itemgetter(1, 0))


def numbered_nodes(grid, kept, rows):
    """Return the number of each node, -1 where there is none, and the places, row by row."""
    used = np.zeros((len(rows), len(grid.r_faces)), bool)
    for layer, both in enumerate(around(rows)):
        for row in both:
            used[row, :-1] |= kept[layer]
            used[row, 1:] |= kept[layer]
    number = np.where(used, np.cumsum(used).reshape(used.shape) - 1, -1)
    row, column = np.nonzero(used)
    heights = grid.z_faces[[face for _, face in rows]]
    return number, np.stack((grid.r_faces[column], heights[row]))


def around(rows):
    """Return the rows above and below each layer; between doubled ones there is none."""
    return [(n, n + 1) for n in range(len(rows) - 1) if rows[n][1] != rows[n + 1][1]]


def quads(kept, number, rows):
    """Return the corners of each element, layer by layer."""
    found = []
    for layer, (above, below) in enumerate(around(rows)):
        at = np.flatnonzero(kept[layer])
        upper, lower = number[above], number[below]
        found.append((upper[at], upper[at + 1], lower[at + 1], lower[at]))
    return np.concatenate(found, axis=1)


def body_over(body, counts, layer_of):
    """Return the body whose fields list so many values a row instead of layers and rings."""
    ends = np.concatenate(([0], np.cumsum(counts)))
    materials = []
    for layers, material in body.materials:
        first, last = np.searchsorted(layer_of, (layers.start, layers.stop))
        materials.append((slice(int(ends[first]), int(ends[last])), material))
    return replace(body, materials=tuple(materials))


class ElementWeld:
    """The state of a weld while it is calculated with elements."""

    def __init__(self, case, options):
        same = weld._Weld(case.stack, case.setting, case.electrode, options)
        self.grid, self.contacts, self.force = same.body.grid, same.contacts, same.force
        self.yielding = same.fitted.yielding
        self.elements = Elements(same.body, [each.layer for each in self.contacts])
        self.warm = np.full(len(self.elements.volumes), ROOM_DEGC)
        self.enthalpy = self.elements.by_node.heat(self.warm)
        self.diameter_mm = 0.0

    def advance(self, step):
        at = self.elements.lines.at_rings(self.warm)
        for each, warm in zip(self.contacts, at, strict=True):
            each.grow(self.grid, warm, self.force, self.yielding)
        points = np.asarray(self.elements.at_points(self.warm))
        source = self._joule(at, points, step.current) if step.current > 0 else 0.0
        resists = [
            each.keeps_heat(warm, self.force) for each, warm in zip(self.contacts, at, strict=True)
        ]
        conducts = self.elements.by_element.conducts_heat(points)
        self._carry(self.elements.matrix(conducts, self._shares(resists)), source, step.seconds)
        self._look()

    def _shares(self, resists):
        """Return the conductance of an area of each ring of each contact, as far as it touches."""
        return [
            self.grid.axial_areas[each.layer] / self.grid.ring_areas * each.touches(self.grid) / by
            for each, by in zip(self.contacts, resists, strict=True)
        ]

    def _joule(self, at, points, current):
        resists = [
            np.maximum(each.resists(warm, self.force, current), LEAST_RESISTS)
            for each, warm in zip(self.contacts, at, strict=True)
        ]
        crossings = self._shares(resists)
        conducts = self.elements.by_element.conducts_current(points)
        matrix = self.elements.matrix(conducts, crossings)
        potential = self._potential(matrix)
        flows = potential @ (matrix @ potential)
        return self.elements.heat(potential, conducts, crossings) * (current / flows) ** 2

    def _potential(self, matrix):
        free, potential = self.elements.free, np.zeros_like(self.warm)
        potential[: free.start] = 1.0
        right = -(matrix[:, : free.start] @ potential[: free.start])[free]
        potential[free] = solved(matrix[free, free], right)
        return potential

    def _carry(self, matrix, source, seconds):
        """Carry the heat on as `advisor.heat.diffusion.heat_step` does; room at the outer faces."""
        body, free = self.elements.by_node, self.elements.free
        inner, volumes = matrix[free, free], self.elements.volumes
        now, warm = self.enthalpy, self.warm
        for _ in range(2):
            slope = body.slope(warm)
            carries = volumes * slope / seconds
            right = carries * (warm - ROOM_DEGC) - volumes * (now - self.enthalpy) / seconds
            right += source
            found = np.zeros_like(warm)
            found[free] = solved(inner + diags_array(carries[free], format="csc"), right[free])
            now = now + slope * (found + ROOM_DEGC - warm)
            warm = body.temperature(now)
        self.enthalpy, self.warm = now, warm

    def _look(self):
        line = np.mean([self.warm[side] for side in self.elements.lines.sides[1]], axis=0)
        self.diameter_mm = max(self.diameter_mm, 2000 * outermost(self.grid.r_faces, line))


def solved(matrix, right):
    return splu(matrix, **AS_SYMMETRIC).solve(right)


OURS = (
    ("materials", Body, "_each"),
    ("assembly", weld, "links"),
    ("assembly", weld, "given_off"),
    ("assembly", diffusion, "band"),
    ("solving", diffusion, "solve"),
)
ELEMENTS = (
    ("materials", Body, "_each"),
    ("assembly", Elements, "at_points"),
    ("assembly", Elements, "matrix"),
    ("assembly", Elements, "heat"),
    ("solving", sys.modules[__name__], "solved"),
)


def by_ours(case, options):
    return case.run(options).diameters_mm[0]


def by_elements(case, options):
    found = ElementWeld(case, options)
    for step in time_steps(case.setting, options.steps):
        found.advance(step)
    return found.diameter_mm


def measured(work, places, case, options):
    """Return processor and wall seconds, diameter [mm] and the share of each kind of work."""
    clock = Clock()
    with clock.on(*places):
        start = time.process_time(), time.perf_counter()
        diameter = work(case, options)
        taken, wall = time.process_time() - start[0], time.perf_counter() - start[1]
    return taken, wall, diameter, {kind: spent / taken for kind, spent in clock.spent.items()}


def the_case():
    """Return the weld of two sheets whose published time is nearest, at just that time."""
    cases = published_cases((Schedule.HIGH_FORCE,))
    case = min(cases, key=lambda each: abs(each.setting.weld_ms - WELD_MS))
    return replace(case, setting=replace(case.setting, weld_ms=WELD_MS))


def show(what, cells, run):
    taken, wall, diameter, shares = run
    parts = "".join(f"{shares[kind]:11.0%}" for kind in ("materials", "assembly", "solving"))
    print(f"{what:24}{cells:8,}{taken:9.2f}{wall:10.2f}{diameter:11.3f}{parts}")


def compare(case, options):
    """Print one grid and return seconds of ours, ratio and difference of the welds."""
    works = ((by_ours, OURS), (by_elements, ELEMENTS))
    runs = [[measured(*work, case, options) for work in works] for _ in range(RUNS)]
    by_time = [sorted(each, key=itemgetter(0)) for each in zip(*runs, strict=True)]
    ours, elements = (each[RUNS // 2] for each in by_time)
    ratio = statistics.median(theirs[0] / own[0] for own, theirs in runs)
    found = ElementWeld(case, options)
    show("advisor.heat", found.grid.filled.size, ours)
    show("finite elements", found.elements.inside.nelems, elements)
    apart = elements[2] / ours[2] - 1
    print(f"{'':24}ours is {ratio:.1f} times as fast; the elements' weld differs by {apart:+.1%}")
    return ours[0], ratio, apart


def main():
    case, options = the_case(), [Options(fineness=each) for each in FINENESSES]
    steps = len(list(time_steps(case.setting, options[0].steps)))
    setting = case.setting
    print(
        f"two sheets of {case.thickness_mm:g} mm, {setting.current_kA:g} kA, "
        f"{setting.force_kN:g} kN, {setting.weld_ms:g} ms in {steps} steps; "
        f"{RUNS} runs of each in turn, one core"
    )
    print(f"{'':24}{'cells':>8}{'core [s]':>9}{'clock [s]':>10}{'weld [mm]':>11}", end="")
    print(f"{'materials':>11}{'assembly':>11}{'solving':>11}")
    found = [compare(case, each) for each in options]
    print(f"target: {MOST_S:g} s of a core at most on the finer grid; here {found[-1][0]:.2f} s")
    least = min(ratio for _, ratio, _ in found)
    print(f"target: {LEAST_RATIO:g} times as fast at least; here {least:.1f}")
    if max(abs(apart) for *_, apart in found) > MOST_APART:
        sys.exit(f"the welds differ by more than {MOST_APART:.0%}: the comparison means nothing")


if __name__ == "__main__":
    # One core for both: ours calls LAPACK, which would take more.
    with threadpool_limits(1):
        main()
