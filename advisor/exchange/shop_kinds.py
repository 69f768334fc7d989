"""What the shop has, as flat values: people, machines, adhesives, rules, jobs, joints, clocks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.bonding.adhesive import Adhesive, Span
from advisor.bonding.clock import Reading
from advisor.coupons.joint import Joint
from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.errors import InputError
from advisor.exchange.columns import (
    STACK,
    WRITTEN,
    electrode_fields,
    electrode_values,
    fitted_from,
    planned_from,
    setting_fields,
    setting_values,
    stack_from,
    stack_values,
)
from advisor.exchange.fields import Coded, Flag, Moment, Number, Text, Whole, Word
from advisor.exchange.records import (
    Change,
    Clock,
    ClockReading,
    Event,
    Job,
    Person,
    RulesVersion,
    UsualJoint,
)
from advisor.language import say
from advisor.people.roles import Role
from advisor.text_rules import LONGEST_TEXT
from advisor.weld.machine import Machine
from advisor.weld.published import Schedule
from advisor.weld.size import GoverningRule, SizeRule

Values = Mapping[str, Any]
_NOTE = 2000
EVENTS = ("fitted", "dressed", "repaired", "settled")

PERSON = (Text("name"), Word("role", words=Role), Moment("left_at", optional=True))
MACHINE = (
    Text("name"),
    Number("largest_current_kA"),
    Number("smallest_current_kA"),
    Number("largest_force_kN"),
    Number("smallest_force_kN"),
    Number("mains_hz"),
    Flag("is_inverter"),
    Number("force_kN_per_bar", optional=True),
    Number("force_offset_kN"),
)
EVENT = (
    Text("machine"),
    Coded("what", codes=EVENTS),
    Moment("at"),
    *electrode_fields(optional=True),
    Text("note", longest=_NOTE),
    *WRITTEN,
)
_SPANS = ("work", "clamp", "cure")
ADHESIVE = (
    Text("name"),
    *(Number(f"{part}_{end}_min") for part in _SPANS for end in ("low", "high")),
    Number("label_degC"),
    Text("note", longest=_NOTE),
    Number("bead_mm", optional=True),
    Number("bond_line_mm", optional=True),
)
RULES = (
    Whole("number", low=1),
    Number("k"),
    Word("governing", words=GoverningRule),
    Word("interface_failure", words=InterfaceFailureRule),
    Word("expulsion", words=ExpulsionRule),
    Number("largest_aspect"),
    Whole("passes_in_a_row"),
    Number("thickness_tolerance_mm"),
    Whole("unbonded_days"),
    Whole("bonded_days"),
    Word("bare_schedule", words=Schedule),
    Whole("dress_after_welds", optional=True, later=True, low=1),
    *WRITTEN,
)
JOB = (Text("number"), Moment("opened_at"), Moment("closed_at", optional=True))
_AS_WELDED = (Whole("welds", optional=True), Number("pitch_mm", optional=True))
JOINT = (
    Text("job"),
    Text("name"),
    Text("machine"),
    *STACK,
    *setting_fields(optional=True),
    *_AS_WELDED,
)
USUAL_JOINT = (Text("name"), Text("machine"), *STACK, *_AS_WELDED)
CLOCK = (
    Whole("number", low=1),
    Text("adhesive"),
    Text("used_for"),
    Moment("mixed_at"),
    Text("started_by"),
    Moment("stopped_at", optional=True),
    Text("stopped_by", optional=True),
)
READING = (Whole("clock", low=1), Moment("at"), Number("degC"), Text("recorded_by"))
CHANGE = (
    Moment("at"),
    Text("who"),
    Text("what", longest=1000),
    Text("before", optional=True, longest=LONGEST_TEXT),
    Text("after", optional=True, longest=LONGEST_TEXT),
)


def person_from(values: Values) -> Person:
    """Return a person."""
    if not values["name"].strip():
        raise InputError(say("the name of a person is blank; it is what others point at"))
    return Person(values["name"], values["role"], values["left_at"])


def machine_from(values: Values) -> Machine:
    """Return a machine."""
    return Machine(**values)


def event_values(event: Event) -> dict[str, Any]:
    """Return the values of what was done to a machine."""
    return {
        "machine": event.machine,
        "what": event.what,
        "at": event.at,
        **electrode_values(event.electrode),
        "note": event.note,
        "recorded_by": event.by,
        "recorded_at": event.written_at,
    }


def event_from(values: Values) -> Event:
    """Return what was done to a machine."""
    return Event(
        values["machine"],
        values["what"],
        values["at"],
        fitted_from(values),
        values["note"],
        values["recorded_by"],
        values["recorded_at"],
    )


def adhesive_values(adhesive: Adhesive) -> dict[str, Any]:
    """Return the values of an adhesive."""
    found = dict(vars(adhesive))
    for part in _SPANS:
        span: Span = found.pop(part)
        found[f"{part}_low_min"], found[f"{part}_high_min"] = span.low_min, span.high_min
    return found


def adhesive_from(values: Values) -> Adhesive:
    """Return an adhesive."""
    work, clamp, cure = (
        Span(values[f"{part}_low_min"], values[f"{part}_high_min"]) for part in _SPANS
    )
    rest = ("label_degC", "note", "bead_mm", "bond_line_mm")
    return Adhesive(values["name"], work, clamp, cure, *(values[name] for name in rest))


def rules_values(version: RulesVersion) -> dict[str, Any]:
    """Return the values of a version of the shop's rules."""
    judging, rules = version.rules.judging, version.rules
    return {
        "number": version.number,
        "k": judging.size.k,
        "governing": judging.size.governing,
        "interface_failure": judging.interface_failure,
        "expulsion": judging.expulsion,
        "largest_aspect": judging.largest_aspect,
        **vars(rules.coverage),
        "bare_schedule": rules.bare_schedule,
        "dress_after_welds": rules.dress_after_welds,
        "recorded_by": version.by,
        "recorded_at": version.at,
    }


def rules_from(values: Values) -> RulesVersion:
    """Return a version of the shop's rules."""
    judging = JudgingRules(
        SizeRule(values["k"], values["governing"]),
        values["interface_failure"],
        values["expulsion"],
        values["largest_aspect"],
    )
    coverage = CoverageRules(
        values["passes_in_a_row"],
        values["thickness_tolerance_mm"],
        values["unbonded_days"],
        values["bonded_days"],
    )
    rules = ShopRules(judging, coverage, values["bare_schedule"], values.get("dress_after_welds"))
    return RulesVersion(values["number"], rules, values["recorded_by"], values["recorded_at"])


def job_from(values: Values) -> Job:
    """Return a job."""
    if not values["number"].strip():
        raise InputError(say("the number of a job is blank; it is what others point at"))
    return Job(values["number"], values["opened_at"], values["closed_at"])


def joint_values(joint: Joint) -> dict[str, Any]:
    """Return the values of a joint."""
    return {
        "job": joint.job,
        "name": joint.name,
        "machine": joint.machine,
        **stack_values(joint.stack),
        **setting_values(joint.setting),
        "welds": joint.welds,
        "pitch_mm": joint.pitch_mm,
    }


def joint_from(values: Values) -> Joint:
    """Return a joint."""
    return Joint(
        values["name"],
        values["job"],
        stack_from(values),
        values["machine"],
        planned_from(values),
        values["welds"],
        values["pitch_mm"],
    )


def usual_values(usual: UsualJoint) -> dict[str, Any]:
    """Return the values of a usual joint."""
    return joint_values(usual.joint)


def usual_from(values: Values) -> UsualJoint:
    """Return a usual joint."""
    stack, machine = stack_from(values), values["machine"]
    joint = Joint(
        values["name"], "usual", stack, machine, None, values["welds"], values["pitch_mm"]
    )
    return UsualJoint(joint)


def clock_from(values: Values) -> Clock:
    """Return a clock."""
    return Clock(**values)


def reading_values(reading: ClockReading) -> dict[str, Any]:
    """Return the values of a panel temperature."""
    return {
        "clock": reading.clock,
        "at": reading.reading.at,
        "degC": reading.reading.degC,
        "recorded_by": reading.by,
    }


def reading_from(values: Values) -> ClockReading:
    """Return a panel temperature."""
    reading = Reading(values["at"], values["degC"])
    return ClockReading(values["clock"], reading, values["recorded_by"])


def change_from(values: Values) -> Change:
    """Return a line of the log of changes."""
    return Change(**values)
