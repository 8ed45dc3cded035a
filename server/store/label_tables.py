"""Table of what the builder set for labels. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class LabelSettingRow(SQLModel, table=True):
    """Settings of labels: those of the workshop's sheets, and what one build leaves out."""

    __tablename__ = "label_setting"
    build: str = Field(primary_key=True)
    """Id of the build; empty for what holds for every build."""
    text: str
    """What was set, as JSON."""
