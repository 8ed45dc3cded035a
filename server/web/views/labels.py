"""Wire labels: the settings of sheet and text, and the first sheet as it will be printed."""

from collections.abc import Collection
from dataclasses import dataclass

from server.domain.errors import InvalidInputError
from server.domain.label_sheet import LabelSheet
from server.domain.label_text import LEAST_PT
from server.domain.labels import LabelSettings, waits_words
from server.domain.model.plan import RunPlan
from server.drawing.label_sheet import previewed_sheet
from server.services.label_records import LabelJob, label_job
from server.services.opened import Opened
from server.web.reading.labels import PREFIX
from server.web.views import formats
from server.web.views.fields import Field, Fields, sentence
from server.web.views.pieces import run_title

FORMS = (
    ("plain", "plain: the text once"),
    ("wrap", "wrapped round: the text again and again"),
    ("flag", "flag: folded round, text on both halves"),
)
ENDS = (("both", "both ends"), ("source", "source end only"), ("part", "part end only"))
SAYS = (("own", "where this end goes"), ("both", "where both ends go"))
LINE_NAMES = (
    ("label", "label of the wire"),
    ("plug", "plug"),
    ("cavity", "cavity"),
    ("net", "net"),
    ("colour", "colour code"),
)
SMALL_SHOWN = 8


@dataclass(frozen=True, slots=True)
class LabelsLive:
    """The first sheet, and what is to be said of all of them."""

    svg: str
    """Empty where nothing can be printed."""
    words: str
    wrong: tuple[str, ...] = ()
    """What cannot be done like this."""
    small: str = ""
    """Labels whose text is hard to read, in a sentence; empty for none."""


@dataclass(frozen=True, slots=True)
class LabelsPanel:
    """The settings and what they come to."""

    href: str
    what: tuple[Field, ...]
    """Lists to tick from: runs and lines."""
    how: tuple[Field, ...]
    """Choices of how labels are made."""
    counts: tuple[Field, ...]
    page: tuple[Field, ...]
    grid: tuple[Field, ...]
    label: tuple[Field, ...]
    waiting: tuple[str, ...]
    """Runs whose wires are left out, by the reason."""
    live: LabelsLive


def labels_panel(
    opened: Opened, fields: Fields, settings: LabelSettings, left_out: Collection[str], live: LabelsLive
) -> LabelsPanel:
    """The view of the panel.

    Args:
        opened: The build as it stands.
        fields: Makes the fields with what was typed last.
        settings: What is kept.
        left_out: Ids of runs without labels.
        live: What the settings shown come to.
    """
    return LabelsPanel(
        href=f"/builds/{opened.build_id}/labels",
        what=_what(opened, fields, settings, left_out),
        how=(
            fields.choice(f"{PREFIX}ends", "Labels at", settings.ends, ENDS),
            fields.choice(f"{PREFIX}says", "Plug and cavity say", settings.says, SAYS),
            fields.choice(f"{PREFIX}form", "Form", settings.form.form, FORMS),
        ),
        counts=(
            fields.text(
                f"{PREFIX}repeats", "Text repeated", str(settings.form.repeats), "Wrapped round only.", "times"
            ),
            _measure(fields, "fold_mm", "Free at the fold", settings.form.fold_mm, "Flags only: the wire's girth."),
            fields.text(f"{PREFIX}copies", "Copies of each", str(settings.copies)),
        ),
        page=_page(fields, settings.sheet),
        grid=_grid(fields, settings),
        label=_label(fields, settings.sheet),
        waiting=left_out_words(opened),
        live=live,
    )


def labels_live(opened: Opened, settings: LabelSettings, left_out: Collection[str]) -> LabelsLive:
    """The first sheet to scale, with how many there are.

    Args:
        opened: The build as it stands.
        settings: What is set, without problems.
        left_out: Ids of runs without labels.
    """
    try:
        job = label_job(opened, settings, left_out)
    except InvalidInputError as error:
        return labels_wrong(error)
    first = [placed for placed in job.placed if placed[0].sheet == 0]
    svg = previewed_sheet(settings.sheet, first, settings.form, "labels", first=settings.first)
    return LabelsLive(svg, _job_words(job), small=_small_words(job))


def labels_wrong(error: InvalidInputError) -> LabelsLive:
    """What keeps labels from being printed, in place of the sheet.

    Args:
        error: What is wrong with the form.
    """
    return LabelsLive("", "", tuple(dict.fromkeys(sentence(problem.message) for problem in error.problems)))


def left_out_words(opened: Opened) -> tuple[str, ...]:
    """Runs whose wires get no labels yet, by the reason.

    Args:
        opened: The build as it stands.
    """
    reasons: dict[str, list[RunPlan]] = {}
    for run in opened.plan.runs:
        if words := waits_words(run):
            reasons.setdefault(words, []).append(run)
    return tuple(
        f"{'Run' if len(runs) == 1 else 'Runs'} {formats.listed(str(run.number) for run in runs)}: "
        f"{formats.count(sum(len(run.wires) for run in runs), 'wire')} left out, since {words}."
        for words, runs in reasons.items()
    )


def labels_line(opened: Opened) -> str:
    """How many wires can be labelled, in one line for the rail.

    Args:
        opened: The build as it stands.
    """
    ready = sum(len(run.wires) for run in opened.plan.runs if not waits_words(run))
    waiting = sum(len(run.wires) for run in opened.plan.runs if waits_words(run))
    return formats.count(ready, "wire") + (f", {waiting} wait" if waiting else "")


def _what(opened: Opened, fields: Fields, settings: LabelSettings, left_out: Collection[str]) -> tuple[Field, ...]:
    runs = [run for run in opened.plan.runs if run.wires]
    ticked = [run.id for run in runs if run.id not in left_out]
    return (
        fields.choices(f"{PREFIX}runs", "Runs", ticked, [(run.id, _run_words(run)) for run in runs]),
        fields.choices(f"{PREFIX}lines", "On each label", settings.lines, LINE_NAMES),
    )


def _run_words(run: RunPlan) -> str:
    return f"{run.number} {run_title(run)}" + (" (waits)" if waits_words(run) else "")


def _page(fields: Fields, sheet: LabelSheet) -> tuple[Field, ...]:
    return (
        _measure(fields, "page_width_mm", "Page, width", sheet.page_width_mm),
        _measure(fields, "page_height_mm", "Page, height", sheet.page_height_mm),
        _measure(fields, "left_mm", "Margin left", sheet.left_mm),
        _measure(fields, "top_mm", "Margin on top", sheet.top_mm),
    )


def _grid(fields: Fields, settings: LabelSettings) -> tuple[Field, ...]:
    sheet = settings.sheet
    return (
        fields.text(f"{PREFIX}columns", "Columns", str(sheet.columns)),
        fields.text(f"{PREFIX}rows", "Rows", str(sheet.rows)),
        fields.text(f"{PREFIX}first", "First free label", str(settings.first), "Row by row; 1 on a new sheet."),
    )


def _label(fields: Fields, sheet: LabelSheet) -> tuple[Field, ...]:
    return (
        _measure(fields, "label_width_mm", "Label, width", sheet.label_width_mm),
        _measure(fields, "label_height_mm", "Label, height", sheet.label_height_mm),
        _measure(fields, "gap_across_mm", "Gap across", sheet.gap_across_mm),
        _measure(fields, "gap_down_mm", "Gap down", sheet.gap_down_mm),
    )


def _measure(fields: Fields, name: str, label: str, value: float, hint: str = "") -> Field:
    return fields.text(PREFIX + name, label, formats.number(value, 2), hint, "mm")


def _job_words(job: LabelJob) -> str:
    """How many labels there are, on how many sheets, and where the next ones can begin."""
    if not job.placed:
        return "No labels: no run chosen has a measured length."
    last, sheet = job.placed[-1][0], job.settings.sheet
    size = min(text.size_pt for _, text in job.placed)
    told = f"{formats.count(len(job.placed), 'label')} on {formats.count(job.sheets, 'sheet')}, "
    told += f"text of {formats.number(size)} pt or more. "
    if last.place + 1 == sheet.per_sheet:
        return f"{told}The last sheet is used up."
    return f"{told}On the last sheet, label {last.place + 2} is the next free one."


def _small_words(job: LabelJob) -> str:
    """Which labels are hard to read."""
    small = tuple(dict.fromkeys(label.wire for label in job.small))
    if not small:
        return ""
    more = f" and {len(small) - SMALL_SHOWN} more" if len(small) > SMALL_SHOWN else ""
    named = ", ".join(small[:SMALL_SHOWN])
    return f"Text under {formats.number(LEAST_PT)} pt, hard to read: {named}{more}. Take a line off, or larger labels."
