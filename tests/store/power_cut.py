"""Kill a program that logs coupons, again and again: nothing it acknowledged may be lost.

Run with ``python tests/store/power_cut.py KILLS [SEED]``.

Eight threads log, correct, void, import and keep drafts, and say so once the log has taken it. What
was heard of that before the kill has to be in the log afterwards. The kernel lives on, so this
shows the order of writing and saying, whole transactions and the recovery; it does not show that a
disk keeps what it was told to keep.
"""

import json
import multiprocessing as mp
import os
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from itertools import count
from multiprocessing.connection import wait
from pathlib import Path
from random import Random

HERE = Path(__file__).resolve().parent
sys.path[:0] = [each for each in (str(HERE.parent), str(HERE)) if each not in sys.path]

from sqlalchemy import func, select  # noqa: E402
from store_examples import BY, FAILING, NOW, PASSING, fill  # noqa: E402

from advisor.errors import AdvisorError  # noqa: E402
from advisor.store.base import Trust  # noqa: E402
from advisor.store.log import open_log  # noqa: E402
from advisor.store.schema import coupon, coupon_revision, interface_result  # noqa: E402

WRITERS, BATCH = 8, 50
FEWEST_S = 0.005  # from the first acknowledgement to the kill
MOST_S = (0.06, 0.06, 0.06, 0.4)  # in the longer ones the writers have warmed up
WHOLE_EVERY = 20
PATIENCE_S = 60
PRELOADED = ["advisor.store.log", "hypothesis", "alembic.command", "alembic.script"]
PROGRAMS = mp.get_context("forkserver")  # starts a program without loading libraries again
PROGRAMS.set_forkserver_preload(PRELOADED)


class Writer:
    """One thread of the program: writes something, then acknowledges it."""

    def __init__(self, log, turn, place, seed, pipe):
        self.log, self.turn, self.place, self.pipe = log, turn, place, pipe
        self.chance = Random(f"{seed} {turn} {place}")  # noqa: S311
        self.own = []
        self.acts = (self.add, self.correct, self.void, self.keep_draft, self.bring_in)

    def run(self):
        try:
            for n in count():
                self.step(f"{self.turn}.{self.place}.{n}")
        except BrokenPipeError:
            return  # nobody listens any more
        except AdvisorError as error:
            self.say(("trouble", str(error), 0))

    def step(self, tag):
        (act,) = self.chance.choices(self.acts, (70, 10, 8, 8, 4))
        self.say(*act(tag))

    def say(self, *lines):
        """Tell what is in the log, in one piece."""
        whole = "".join(json.dumps(line) + "\n" for line in lines).encode()
        assert len(whole) < 4096, "longer pieces may arrive in parts"
        os.write(self.pipe.fileno(), whole)

    def add(self, tag):
        new = replace(self.chance.choice((PASSING, FAILING)), notes=tag)
        number = self.log.add_coupon(new, "Kim", NOW).number
        self.own.append(number)
        return [(tag, number, 1)]

    def correct(self, tag):
        if not self.own:
            return self.add(tag)
        number = self.chance.choice(self.own)
        new = self.log.correct_coupon(number, replace(PASSING, notes=tag), "Kim", tag, NOW)
        return [(tag, number, new.revision)]

    def void(self, tag):
        if not self.own:
            return self.add(tag)
        number = self.own.pop(self.chance.randrange(len(self.own)))
        return [(tag, number, self.log.void_coupon(number, BY, tag, NOW).revision)]

    def keep_draft(self, tag):
        self.log.save_draft("Kim", f"form {self.place}", tag, NOW)
        return [(tag, "draft", self.place)]

    def bring_in(self, tag):
        at = PASSING.made_at + timedelta(microseconds=self.chance.randrange(10**12))
        new = [replace(PASSING, made_at=at, notes=f"{tag}/{i}") for i in range(BATCH)]
        numbers = self.log.import_coupons(new, "Kim", NOW)
        return [(f"{tag}/{i}", number, 1) for i, number in enumerate(numbers)]


def serve(url, turn, seed, pipe, writer):
    """Be the program that is killed."""
    log = open_log(url)
    threads = [
        threading.Thread(target=writer(log, turn, place, seed, pipe).run)
        for place in range(WRITERS)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


class PowerCuts:
    """Kills programs that write to one log, and finds what is missing or too much in it.

    What was heard, and what is found, is a tag for each revision with its coupon's number and its
    own; of the drafts, the last tag of each writer. `faults` says in words what does not fit.
    """

    def __init__(self, url, seed=0, writer=Writer):
        self.url, self.seed, self.writer = url, seed, writer
        self.chance = Random(seed)  # noqa: S311
        self.heard, self.new, self.found, self.drafts = {}, {}, {}, {}
        self.faults = []
        self.kills, self.last_place, self.last_number, self.longest_s = 0, 0, 0, 0.0
        with closing(open_log(url)) as log:
            fill(log)

    def run(self, kills):
        """Kill so many programs; the whole log is walked now and then and at the end."""
        for left in reversed(range(kills)):
            self.cut()
            if left and self.chance.random() < 0.1:
                self.cut_early()  # and the next program recovers, not this one
                continue
            self.check(whole=not left or self.kills % WHOLE_EVERY == 0)
        return self

    def cut(self):
        """Start a program and kill it while it writes."""
        program, pipe = self._start()
        lines = pipe.readline() if wait([pipe], PATIENCE_S) else b""
        self.faults += [] if lines else [f"program {self.kills} acknowledged nothing"]
        until = time.monotonic() + self.chance.uniform(FEWEST_S, self.chance.choice(MOST_S))
        while (left_s := until - time.monotonic()) > 0 and wait([pipe], left_s):
            lines += os.read(pipe.fileno(), 1 << 16)
        self._kill(program)
        self._hear(lines + pipe.read())
        pipe.close()

    def cut_early(self):
        """Start a program and kill it while it opens the log."""
        program, pipe = self._start()
        wait([pipe], self.chance.uniform(0, 0.04))
        self._kill(program)
        self._hear(pipe.read())
        pipe.close()

    def _start(self):
        here, there = PROGRAMS.Pipe(duplex=False)
        program = PROGRAMS.Process(
            target=serve, args=(self.url, self.kills, self.seed, there, self.writer), daemon=True
        )
        program.start()
        there.close()
        return program, os.fdopen(os.dup(here.fileno()), "rb", buffering=0)

    def _kill(self, program):
        program.kill()
        program.join(PATIENCE_S)
        self.kills += 1

    def _hear(self, lines):
        for line in lines.splitlines():
            tag, where, which = json.loads(line)
            if tag == "trouble":
                self.faults.append(f"program {self.kills}: {where}")
            elif where == "draft":
                self.drafts[which] = tag
            else:
                self.new[tag] = (where, which)

    def check(self, whole=False):
        """Open the log as the next program would and compare it with what was heard."""
        start = time.perf_counter()
        with closing(open_log(self.url)) as log:
            log.save_draft(BY, "after the kill", "", NOW)  # waits for whom the kill left writing
            self.longest_s = max(self.longest_s, time.perf_counter() - start)
            self.heard |= self.new
            if whole:
                self.last_place = self.last_number = 0
            found = self._read(log)
            self.found = found if whole else self.found | found
            self._compare(self.heard if whole else self.new, found)
            self._check_drafts(log)
            self._check_rest()
            if whole:
                self._check_soundness(log)
        self.new = {}

    def _read(self, log):
        """Return what is new in the log: a tag for each revision, and where it stands."""
        r, i = coupon_revision.c, interface_result.c
        results = select(func.count()).where(i.coupon_revision_id == r.id).scalar_subquery()
        query = (
            select(r.place, r.revision, r.notes, r.why, coupon.c.number, results.label("results"))
            .join(coupon, coupon.c.id == r.coupon_id)
            .where(r.place > self.last_place)
            .order_by(r.place)
        )
        numbers = select(coupon.c.number).where(coupon.c.number > self.last_number)
        with log._snapshot() as connection:
            rows = connection.execute(query).all()
            made = sorted(connection.execute(numbers).scalars())
        self._check_rows(rows, made)
        return {row.why or row.notes: (row.number, row.revision) for row in rows}

    def _check_rows(self, rows, made):
        if made != sorted(row.number for row in rows if row.revision == 1):
            self.faults.append(f"after {self.kills} kills: a coupon without its first entry")
        if [row.place for row in rows] != [self.last_place + 1 + n for n in range(len(rows))]:
            self.faults.append(f"after {self.kills} kills: a gap in the places")
        for row in rows:
            if row.results != len(PASSING.results):
                self.faults.append(f"coupon #{row.number} has {row.results} results")
        self.last_place += len(rows)
        self.last_number += len(made)

    def _compare(self, heard, found):
        for tag, where in heard.items():
            if tag not in found:
                self.faults.append(f"lost: {tag} was acknowledged and is not there")
            elif found[tag] != where:
                self.faults.append(f"{tag} is {found[tag]} and was acknowledged as {where}")
        batches = Counter(tag.split("/")[0] for tag in found if "/" in tag)
        for tag, there in batches.items():
            if there != BATCH:
                self.faults.append(f"import {tag}: {there} of {BATCH} are there")

    def _check_drafts(self, log):
        for place, tag in self.drafts.items():
            kept = log.draft("Kim", f"form {place}")
            if kept is None or _order(kept.body) < _order(tag):
                self.faults.append(f"lost: draft {tag}, there is {kept}")

    def _check_rest(self):
        """What was not acknowledged is at most the one thing each writer was at."""
        at = [_order(tag.split("/")[0])[:2] for tag in self.unacknowledged() if _is_one(tag)]
        if len(at) != len(set(at)):
            self.faults.append(f"after {self.kills} kills: one writer left two things unsaid")

    def unacknowledged(self):
        return self.found.keys() - self.heard.keys()

    def _check_soundness(self, log):
        report = log.used_by(Trust.OPERATOR).verify()
        if not report.is_sound:
            self.faults.append(f"after {self.kills} kills: {report}")
        if log._engine.dialect.name == "sqlite":
            with log._reading() as connection:
                said = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
            if said != ["ok"]:
                self.faults.append(f"after {self.kills} kills: {said}")

    def summary(self):
        there = len(self.heard.keys() & self.found.keys())
        return (
            f"{self.kills} kills, {len(self.heard)} acknowledged, {there} found, "
            f"{len(self.unacknowledged())} unacknowledged but there, longest recovery "
            f"{1000 * self.longest_s:.0f} ms, {len(self.faults)} faults"
        )


def _order(tag):
    return tuple(int(part) for part in tag.split("."))


def _is_one(tag):
    """Whether a tag stands for a whole act: the first coupon of an import does."""
    return "/" not in tag or tag.endswith("/0")


def main(kills, seed=0):
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        cuts = PowerCuts(f"sqlite:///{folder}/log.sqlite", seed).run(kills)
        print(f"seed {seed}: {cuts.summary()}; {time.perf_counter() - start:.0f} s")
        print("\n".join(cuts.faults[:20]))
    return 1 if cuts.faults else 0


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit("power_cut.py KILLS [SEED]")
    sys.exit(main(*map(int, sys.argv[1:])))
