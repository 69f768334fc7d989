"""Between joints, what is known of them, what was done to machines, and their rows. No rules here.

The log's own pages and a file that is brought in write the same rows: both take them from here, and
with them what stands for their ids in a seal.
"""

from __future__ import annotations

import json
from typing import Any

from advisor.bonding.preparation import Answer, Checked
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Evidence, Release
from advisor.store import rows
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting

_CHECKED = ("measured", "recorded_by", "recorded_at")


def joint_from(row: rows.Row) -> Joint:
    """Return a joint from its row with ``job``, ``machine`` and the ``body`` of its stack."""
    laid = rows.stack_from(row["body"], turned_over=row["turned_over"])
    planned = rows.setting_from(row["setting"])
    rest = (row["welds"], row["pitch_mm"])
    return Joint(row["name"], row["job"], laid, row["machine"], planned, *rest)


def usual_from(row: rows.Row) -> Joint:
    """Return a usual joint from its row; its job is the word ``usual``."""
    return joint_from({**row, "job": "usual", "setting": None})


def as_welded(joint: Joint) -> dict[str, Any]:
    """Return the columns that a joint and a usual joint share, without the id of the stack."""
    return {
        "turned_over": not joint.stack.is_canonical,
        "welds": joint.welds,
        "pitch_mm": joint.pitch_mm,
    }


def joint_values(joint: Joint) -> dict[str, Any]:
    """Return the columns of a joint that need no look-up."""
    setting = rows.setting_text(joint.setting)
    return {"name": joint.name, "setting": setting, **as_welded(joint)}


def release_from(row: rows.Row) -> Release:
    """Return a release from its row."""
    setting = Setting(**json.loads(row["setting"]))
    evidence = tuple(Evidence(*each) for each in json.loads(row["evidence"]))
    return Release(row["released_by"], row["released_at"], setting, evidence, row["note"])


def release_values(new: Release) -> dict[str, Any]:
    """Return the columns of a release, without its joint."""
    return {
        "setting": rows.setting_text(new.setting),
        "evidence": json.dumps([[each.number, each.revision] for each in new.evidence]),
        "note": new.note,
        "released_by": new.by,
        "released_at": new.at,
    }


def release_points(joint_id: int, joint: Joint) -> dict[str, Any]:
    """Return what stands for the joint of a release in its seal."""
    return {
        "joint": [joint_id, joint.job, joint.name],
        "machine": joint.machine,
        "stack": rows.stack_values(joint.stack)["fingerprint"],
    }


def checked_from(row: rows.Row) -> Checked:
    """Return an answer to a preparation check from its row."""
    return Checked(row["name"], Answer.of(row["answer"]), *(row[name] for name in _CHECKED))


def checked_values(new: Checked) -> dict[str, Any]:
    """Return the columns of an answer to a preparation check, without its joint."""
    said = (new.measured, new.by, new.at)
    return {
        "name": new.key,
        "answer": new.answer.value,
        **dict(zip(_CHECKED, said, strict=True)),
    }


def recommendation_values(new: MakerRecommendation) -> dict[str, Any]:
    """Return the columns of a recommendation that need no look-up."""
    return {
        "document": new.document,
        "page": new.page,
        "settings": new.settings,
        "recorded_by": new.by,
        "recorded_at": new.at,
    }


def recommendation_points(new: MakerRecommendation, machine: str) -> dict[str, Any]:
    """Return what stands for the ids of a recommendation in its seal."""
    return {"machine": machine, "stack": rows.stack_values(new.stack)["fingerprint"]}


def caps_from(row: rows.Row) -> Electrode | None:
    """Return the caps that an event of a machine names, None where it names none."""
    if row["cap_shape"] is None:
        return None
    return Electrode(CapShape.of(row["cap_shape"]), row["face_mm"], row["cap_material"])


def caps_values(caps: Electrode | None) -> dict[str, Any]:
    """Return the columns of the caps that an event of a machine names, or of none."""
    return {
        "cap_shape": caps.shape.value if caps else None,
        "face_mm": caps.face_mm if caps else None,
        "cap_material": caps.material if caps else None,
    }
