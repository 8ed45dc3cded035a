"""What a person can do with labels: set sheet and text once for every build, choose the runs of one, have them made."""

from collections.abc import Collection
from dataclasses import dataclass

from server.documents.label_json import read_runs, read_settings, write_runs, write_settings
from server.domain.errors import InvalidInputError, Problem
from server.domain.label_sheet import Spot, sheet_problems, spots
from server.domain.label_text import SetLabel, form_problems, set_label
from server.domain.labels import COPIES_MOST, LABELS_MOST, LabelSettings, WireLabel, first_problems, labels_of
from server.services.opened import Opened
from server.services.records import BuildRecords
from server.store.database import reading, writing
from server.store.label_settings import label_setting, set_label_setting


@dataclass(frozen=True, slots=True)
class LabelJob:
    """Labels of a build, each with its text and its place on a sheet."""

    settings: LabelSettings
    labels: tuple[WireLabel, ...]
    placed: tuple[tuple[Spot, SetLabel], ...]
    """In the order of the labels."""

    @property
    def sheets(self) -> int:
        """How many sheets are printed."""
        return self.placed[-1][0].sheet + 1 if self.placed else 0

    @property
    def small(self) -> tuple[WireLabel, ...]:
        """Labels whose text had to be set smaller than can well be read."""
        return tuple(label for label, (_, text) in zip(self.labels, self.placed, strict=True) if text.small)


class LabelRecords(BuildRecords):
    """Settings of labels, over one database."""

    def label_settings(self) -> LabelSettings:
        """What the builder set last, for every build; the planner's own where nothing was set."""
        with reading(self._engine) as session:
            kept = read_settings(label_setting(session))
        return LabelSettings() if kept is None or settings_problems(kept) else kept

    def runs_without_labels(self, build_id: str) -> frozenset[str]:
        """Ids of the runs that a build prints no labels for."""
        with reading(self._engine) as session:
            return frozenset(read_runs(label_setting(session, build_id)))

    def set_labels(self, build_id: str, settings: LabelSettings, left_out: Collection[str]) -> None:
        """Keep settings for every build, and for one build the runs without labels.

        Raises:
            InvalidInputError: no such labels can be made; each problem's field is the name of the value.
        """
        if wrong := settings_problems(settings):
            raise InvalidInputError(wrong)
        with writing(self._engine) as session:
            set_label_setting(session, write_settings(settings))
            set_label_setting(session, write_runs(tuple(sorted(left_out))), build_id)


def settings_problems(settings: LabelSettings) -> tuple[Problem, ...]:
    """What keeps labels from being made like this.

    Args:
        settings: What was set.

    Returns:
        Problems whose field is the name of the value.
    """
    wrong = sheet_problems(settings.sheet)
    if not any(problem.field == "label_width_mm" for problem in wrong):
        wrong += form_problems(settings.form, settings.sheet.label_width_mm)
    if not settings.lines:
        wrong += (Problem("lines", "Tick at least one line."),)
    if not 1 <= settings.copies <= COPIES_MOST:
        wrong += (Problem("copies", f"Write a whole number from 1 to {COPIES_MOST}."),)
    return wrong + (() if wrong else first_problems(settings))


def label_job(opened: Opened, settings: LabelSettings, left_out: Collection[str]) -> LabelJob:
    """Labels of a build, set and placed.

    Args:
        opened: The build as it stands.
        settings: What was set, without problems.
        left_out: Ids of runs without labels.

    Raises:
        InvalidInputError: there are more than can be meant.
    """
    labels = labels_of(opened.plan.runs, settings, left_out)
    if len(labels) > LABELS_MOST:
        told = f"{len(labels)} labels; at most {LABELS_MOST} are made at once: choose fewer copies or runs."
        raise InvalidInputError((Problem("copies", told),))
    sheet = settings.sheet
    texts = (set_label(held.lines, sheet.label_width_mm, sheet.label_height_mm, settings.form) for held in labels)
    return LabelJob(settings, labels, tuple(zip(spots(sheet, len(labels), settings.first), texts, strict=True)))
