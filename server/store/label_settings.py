"""What the builder set for labels: the sheet in the printer and how labels are made, and the runs a build leaves out."""

import json
from collections.abc import Sequence

from sqlmodel import Session

from server.store.label_tables import LabelSettingRow

EVERY_BUILD = ""
Values = dict[str, str | int | float | list[str]]
"""Values by name; texts, numbers and lists of texts."""


def label_values(session: Session, build_id: str = EVERY_BUILD) -> Values:
    """The values set, by name; empty where nothing was ever set.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Values of one build; without it, those that hold for every build.
    """
    row = session.get(LabelSettingRow, build_id)
    values: Values = json.loads(row.text) if row is not None else {}
    return values


def set_label_values(session: Session, values: Values, build_id: str = EVERY_BUILD) -> None:
    """Set values in place of all that were set before.

    Args:
        session: A session from ``writing``.
        values: By name.
        build_id: The build they are for; without it, they hold for every build.
    """
    session.merge(LabelSettingRow(build=build_id, text=json.dumps(values, ensure_ascii=False, sort_keys=True)))
    session.flush()


def left_out_runs(session: Session, build_id: str) -> frozenset[str]:
    """Ids of the runs that a build prints no labels for.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: The build.
    """
    held = label_values(session, build_id).get("left_out", [])
    return frozenset(held) if isinstance(held, list) else frozenset()


def leave_out_runs(session: Session, build_id: str, runs: Sequence[str]) -> None:
    """Say which runs a build prints no labels for.

    Args:
        session: A session from ``writing``.
        build_id: The build.
        runs: Ids of the runs.
    """
    set_label_values(session, {"left_out": sorted(runs)}, build_id)
