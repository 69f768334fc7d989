"""Whether a file holds together: all that is pointed at stands before, and nothing is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

from advisor.bonding.adhesive import Adhesive
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.errors import InputError
from advisor.exchange import records as r
from advisor.exchange.header import Header
from advisor.exchange.kinds import KIND_OF, KINDS
from advisor.exchange.spans import Spans
from advisor.language import msg, say
from advisor.weld.machine import Machine

_PLACES = {kind.name: place for place, kind in enumerate(KINDS)}
#: What is pointed at, by the words it is kept under here.
_CALLED = {
    "person": msg("person {name}"),
    "machine": msg("machine {name}"),
    "adhesive": msg("adhesive {name}"),
    "rules": msg("rules {name}"),
    "job": msg("job {name}"),
    "joint": msg("joint {name} of {of}"),
    "usual joint": msg("usual joint {name}"),
    "foretold": msg("what was foretold of #{name}"),
    "photo": msg("photo {name} of #{of}"),
    "adhesive clock": msg("adhesive clock {name}"),
}


class Order:
    """Looks at every record of a file in turn, and remembers only its names and numbers.

    Parameters
    ----------
    header : Header
        What the file says of itself.
    """

    def __init__(self, header: Header) -> None:
        self._header = header
        self._named: dict[str, set[Any]] = {}
        self._numbers = Spans()
        self._revisions: dict[int, int] = {}  # of the coupons that have more than one
        self._clocks_read: set[int] = set()
        self._counts: Counter[str] = Counter()
        self._last = KINDS[0]

    def check(self, record: r.Record) -> None:
        """Refuse a record that is out of turn, comes twice or points at what is not there."""
        kind = KIND_OF[type(record)]
        if _PLACES[kind.name] < _PLACES[self._last.name]:
            raise InputError(
                say(
                    "a record of the kind {kind} stands behind one of the kind {last}; they come "
                    "in the order {kinds}",
                    kind=kind.name,
                    last=self._last.name,
                    kinds=", ".join(k.name for k in KINDS),
                )
            )
        self._last = kind
        self._counts[kind.name] += 1
        look = _LOOKS.get(type(record))
        if look is not None:
            look(self, record)

    def finish(self) -> None:
        """Refuse a file that is not whole."""
        for kind in KINDS:
            found, wanted = self._counts[kind.name], self._header.records[kind.name]
            if found != wanted:
                raise InputError(
                    say(
                        "the file has {found:,} records of the kind {kind} and says that there "
                        "are {wanted:,}; it was cut off or changed: export it again",
                        found=found,
                        kind=kind.name,
                        wanted=wanted,
                    )
                )
        if len(self._numbers) != self._header.coupons:
            raise InputError(
                say(
                    "the file has {found:,} coupons and says that there are {wanted:,}; it was "
                    "cut off or changed: export it again",
                    found=len(self._numbers),
                    wanted=self._header.coupons,
                )
            )
        without = self._named.get("adhesive clock", set()) - self._clocks_read
        if without:
            raise InputError(
                say(
                    "adhesive clock {number} has no temperature; give one at least",
                    number=min(without),
                )
            )

    def _add(self, what: str, key: Any) -> None:
        known = self._named.setdefault(what, set())
        if key in known:
            raise InputError(say("{what} comes twice; it must come once", what=_called(what, key)))
        known.add(key)

    def _need(self, what: str, key: Any) -> None:
        if key not in self._named.get(what, ()):
            raise InputError(say("{what} does not stand before it", what=_called(what, key)))

    def _person(self, record: r.Person) -> None:
        self._add("person", record.name)

    def _machine(self, record: Machine) -> None:
        self._add("machine", record.name)

    def _of_machine(self, record: r.Event | MakerRecommendation) -> None:
        self._need("machine", record.machine)

    def _adhesive(self, record: Adhesive) -> None:
        self._add("adhesive", record.name)

    def _rules(self, record: r.RulesVersion) -> None:
        self._add("rules", record.number)

    def _job(self, record: r.Job) -> None:
        self._add("job", record.number)

    def _joint(self, record: Joint) -> None:
        self._need("job", record.job)
        self._need("machine", record.machine)
        self._add("joint", (record.job, record.name))

    def _usual(self, record: r.UsualJoint) -> None:
        self._need("machine", record.joint.machine)
        self._add("usual joint", record.joint.name)

    def _revision(self, record: r.CouponRevision) -> None:
        self._need("person", record.coupon.welder)
        self._need("machine", record.coupon.machine)
        self._need("rules", record.rules)
        last = self._last_revision(record.number)
        if record.revision != last + 1:
            raise InputError(_out_of_turn(record, last))
        if record.number > self._header.coupons:
            raise InputError(
                say(
                    "coupon #{number} is above the {coupons:,} coupons that the file says it has; "
                    "they are numbered from 1 without a gap",
                    number=record.number,
                    coupons=self._header.coupons,
                )
            )
        if last:
            self._revisions[record.number] = record.revision
        else:
            self._numbers.add(record.number)

    def _last_revision(self, number: int) -> int:
        """Return the last revision of a coupon so far, 0 for none."""
        if number not in self._numbers:
            return 0
        return self._revisions.get(number, 1)

    def _foretold(self, record: r.CouponForetold) -> None:
        self._need_coupon(record.coupon, 1)
        self._add("foretold", record.coupon)

    def _photo(self, record: r.Photo) -> None:
        self._need_coupon(record.coupon, 1)
        self._add("photo", (record.coupon, record.sha256))

    def _need_coupon(self, number: int, revision: int) -> None:
        if self._last_revision(number) < revision:
            raise InputError(
                say(
                    "coupon #{number} revision {revision} does not stand before it",
                    number=number,
                    revision=revision,
                )
            )

    def _release(self, record: r.JointRelease) -> None:
        self._need("joint", (record.job, record.joint))
        for each in record.release.evidence:
            self._need_coupon(each.number, each.revision)

    def _check(self, record: r.JointCheck) -> None:
        self._need("joint", (record.job, record.joint))

    def _clock(self, record: r.Clock) -> None:
        self._need("adhesive", record.adhesive)
        if (record.stopped_at is None) != (record.stopped_by is None):
            raise InputError(say("stopped_at and stopped_by must both be given, or neither"))
        self._add("adhesive clock", record.number)

    def _reading(self, record: r.ClockReading) -> None:
        self._need("adhesive clock", record.clock)
        self._clocks_read.add(record.clock)


_LOOKS: dict[type, Callable[[Order, Any], None]] = {
    r.Person: Order._person,
    Machine: Order._machine,
    r.Event: Order._of_machine,
    MakerRecommendation: Order._of_machine,
    Adhesive: Order._adhesive,
    r.RulesVersion: Order._rules,
    r.Job: Order._job,
    Joint: Order._joint,
    r.UsualJoint: Order._usual,
    r.CouponRevision: Order._revision,
    r.CouponForetold: Order._foretold,
    r.Photo: Order._photo,
    r.JointRelease: Order._release,
    r.JointCheck: Order._check,
    r.Clock: Order._clock,
    r.ClockReading: Order._reading,
}


def _called(what: str, key: Any) -> str:
    """Return what something is called in a sentence; of two names the first is what it is of."""
    of, name = key if isinstance(key, tuple) else ("", key)
    return say(_CALLED[what], name=name, of=of)


def _out_of_turn(record: r.CouponRevision, last: int) -> str:
    here = {"revision": record.revision, "coupon": record.number}
    if not last:
        return say(
            "revision {revision} of coupon #{coupon} follows on nothing; revisions follow each "
            "other from 1",
            **here,
        )
    return say(
        "revision {revision} of coupon #{coupon} follows on revision {last}; revisions follow each "
        "other from 1",
        last=last,
        **here,
    )
