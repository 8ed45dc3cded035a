"""Settings of labels, from a form."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

from server.domain.errors import InvalidInputError, Problem
from server.domain.label_sheet import COLUMNS_MOST, ROWS_MOST, LabelSheet
from server.domain.label_text import REPEATS_LEAST, REPEATS_MOST, Form, LabelForm
from server.domain.labels import COPIES_MOST, LINES, Ends, LabelSettings, Says
from server.services.label_records import settings_problems
from server.web.forms import Reader

PREFIX = "labels."
FORMS: tuple[Form, ...] = get_args(Form)
ENDS: tuple[Ends, ...] = get_args(Ends)
SAYS: tuple[Says, ...] = get_args(Says)
ZERO = frozenset({"left_mm", "top_mm", "gap_across_mm", "gap_down_mm"})
"""Measures that may be nothing at all."""
FIRST_MOST = COLUMNS_MOST * ROWS_MOST


@dataclass(frozen=True, slots=True)
class ReadLabels:
    """What a form says."""

    settings: LabelSettings
    left_out: tuple[str, ...]
    """Ids of the runs that get no labels."""


def labels_read(read: Reader, runs: Sequence[str]) -> ReadLabels:
    """What is set for labels.

    Args:
        read: The form's reader; lengths are in millimetres unless they name their unit.
        runs: Ids of the runs that the form offers.

    Raises:
        InvalidInputError: something cannot be read, or no labels can be made like that; every such field is named.
    """
    form = read.one_of(f"{PREFIX}form", FORMS)
    chosen = read.chosen(f"{PREFIX}runs")
    settings = LabelSettings(
        sheet=_sheet(read),
        form=LabelForm(form, _repeats(read, form), _fold(read, form)),
        lines=tuple(line for line in LINES if line in read.chosen(f"{PREFIX}lines")),
        ends=read.one_of(f"{PREFIX}ends", ENDS),
        says=read.one_of(f"{PREFIX}says", SAYS),
        copies=read.whole(f"{PREFIX}copies", 1, COPIES_MOST),
        first=read.whole(f"{PREFIX}first", 1, FIRST_MOST),
    )
    if runs and not set(runs) & set(chosen):
        read.problem(f"{PREFIX}runs", "Tick at least one run.")
    read.done()
    if wrong := settings_problems(settings):
        raise refused(wrong)
    return ReadLabels(settings, tuple(run for run in runs if run not in chosen))


def refused(problems: Sequence[Problem]) -> InvalidInputError:
    """Problems of settings, each beside its field of the form.

    Args:
        problems: Their fields are names of values.
    """
    return InvalidInputError(tuple(Problem(PREFIX + problem.field, problem.message) for problem in problems))


def _sheet(read: Reader) -> LabelSheet:
    return LabelSheet(
        page_width_mm=_measure(read, "page_width_mm"),
        page_height_mm=_measure(read, "page_height_mm"),
        left_mm=_measure(read, "left_mm"),
        top_mm=_measure(read, "top_mm"),
        columns=read.whole(f"{PREFIX}columns", 1, COLUMNS_MOST),
        rows=read.whole(f"{PREFIX}rows", 1, ROWS_MOST),
        label_width_mm=_measure(read, "label_width_mm"),
        label_height_mm=_measure(read, "label_height_mm"),
        gap_across_mm=_measure(read, "gap_across_mm"),
        gap_down_mm=_measure(read, "gap_down_mm"),
    )


def _measure(read: Reader, name: str) -> float:
    """One measure of the sheet. [mm]"""
    if name in ZERO and re.fullmatch(r"\s*[-−]\s*\d.*", read.typed.first(PREFIX + name)):
        read.problem(PREFIX + name, "Labels would overlap or leave the page: write 0 mm or more.")
        return 0.0
    value = read.length(PREFIX + name, zero=name in ZERO)
    if value is None and not read.word(PREFIX + name):
        read.problem(PREFIX + name, "Write a length, such as 20 mm.")
    return 1.0 if value is None else value


def _repeats(read: Reader, form: Form) -> int:
    """How often a wrapped label repeats its text; another form leaves what stands there alone."""
    if form == "wrap":
        return read.whole(f"{PREFIX}repeats", REPEATS_LEAST, REPEATS_MOST)
    text = read.word(f"{PREFIX}repeats")
    kept = int(text) if re.fullmatch("[0-9]{1,2}", text) else 0
    return kept if REPEATS_LEAST <= kept <= REPEATS_MOST else LabelForm().repeats


def _fold(read: Reader, form: Form) -> float:
    """What a flag keeps free at its fold; another form leaves what stands there alone. [mm]"""
    if form == "flag":
        return _measure(read, "fold_mm")
    quiet = Reader(read.typed)
    return quiet.length(f"{PREFIX}fold_mm") or LabelForm().fold_mm
