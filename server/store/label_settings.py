"""What the builder set for labels: once for every build, and once more for what one build does otherwise."""

from sqlmodel import Session

from server.store.label_tables import LabelSettingRow

EVERY_BUILD = ""


def label_setting(session: Session, build_id: str = EVERY_BUILD) -> str:
    """The text of what was set; empty where nothing ever was.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: What one build does otherwise; without it, what holds for every build.
    """
    row = session.get(LabelSettingRow, build_id)
    return row.text if row is not None else ""


def set_label_setting(session: Session, text: str, build_id: str = EVERY_BUILD) -> None:
    """Set a text in place of the one before.

    Args:
        session: A session from ``writing``.
        text: What was set.
        build_id: The build it is for; without it, it holds for every build.
    """
    session.merge(LabelSettingRow(build=build_id, text=text))
    session.flush()
