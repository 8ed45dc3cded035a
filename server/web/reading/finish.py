"""The finish of a build, and what one run does otherwise, from a form."""

from typing import get_args

from server.domain.model.build import ColourMode, Finish, RunFinish, SleeveEnd
from server.domain.model.catalogue import CombKind
from server.web.forms import Reader
from server.web.views.formats import INSULATIONS, USES

COLOUR_MODES: tuple[ColourMode, ...] = ("by_net", "pattern")
SLEEVE_ENDS: tuple[SleeveEnd, ...] = get_args(SleeveEnd)
COMB_KINDS: tuple[CombKind, ...] = get_args(CombKind)
FITTING = "fitting"
"""Asks a run for the heat-shrink that fits, whatever the build asks for."""
LONGEST_PATTERN = 40


def finish_of(read: Reader) -> Finish:
    """The build's finish.

    Args:
        read: The form's reader.

    Raises:
        InvalidInputError: some choice is not among those offered.
    """
    gauges = {use: _gauge(read, f"finish.awg.{use}") for use in USES if read.word(f"finish.awg.{use}")}
    mode = read.one_of("finish.colour_mode", COLOUR_MODES)
    finish = Finish(
        insulation=read.one_of("finish.insulation", tuple(INSULATIONS)),
        awg_by_use={use: awg for use, awg in gauges.items() if awg is not None},
        # Adding a colour says more than the list above it: whoever picks colours wants the pattern.
        colour_mode="pattern" if _edits(read, "finish.pattern") else mode,
        pattern=_pattern(read, "finish.pattern"),
        sleeve=read.word("finish.sleeve"),
        sleeve_pattern=_pattern(read, "finish.sleeve_pattern"),
        sleeve_end=read.one_of("finish.sleeve_end", SLEEVE_ENDS),
        shrink_size=read.word("finish.shrink_size"),
        combs=read.ticked("finish.combs"),
        comb_kind=read.one_of("finish.comb_kind", COMB_KINDS),
    )
    read.done()
    return finish


def run_finish_of(read: Reader, run_id: str) -> RunFinish:
    """What one run does otherwise; an empty choice follows the build.

    Args:
        read: The form's reader.
        run_id: The run.

    Raises:
        InvalidInputError: some choice is not among those offered.
    """
    name = f"runs.{run_id}.finish"
    sleeve = read.word(f"{name}.sleeve")
    insulation = read.one_of(f"{name}.insulation", tuple(INSULATIONS)) if read.word(f"{name}.insulation") else None
    mode = read.one_of(f"{name}.colour_mode", COLOUR_MODES) if read.word(f"{name}.colour_mode") else None
    end = read.one_of(f"{name}.sleeve_end", SLEEVE_ENDS) if read.word(f"{name}.sleeve_end") else None
    kind = read.one_of(f"{name}.comb_kind", COMB_KINDS) if read.word(f"{name}.comb_kind") else None
    size = read.word(f"{name}.shrink_size")
    pattern = _pattern(read, f"{name}.pattern") or None
    finish = RunFinish(
        awg=_gauge(read, f"{name}.awg") if read.word(f"{name}.awg") else None,
        insulation=insulation,
        colour_mode="pattern" if pattern and _edits(read, f"{name}.pattern") else mode,
        pattern=pattern,
        sleeve=None if not sleeve else "" if sleeve == "bare" else sleeve,
        sleeve_pattern=_pattern(read, f"{name}.sleeve_pattern") or None,
        sleeve_end=end,
        shrink_size=None if not size else "" if size == FITTING else size,
        combs=_yes_no(read, f"{name}.combs"),
        comb_kind=kind,
    )
    read.done()
    return finish


def _pattern(read: Reader, name: str) -> tuple[str, ...]:
    """A pattern as written, with the colour that a button added or took out."""
    codes = list(read.codes(name))
    added, dropped = read.word(f"{name}.add").upper(), read.word(f"{name}.drop")
    if added:
        codes.append(added)
    if dropped.isdecimal() and int(dropped[:6]) < len(codes):
        codes.pop(int(dropped[:6]))
    if len(codes) > LONGEST_PATTERN:
        read.problem(name, f"A pattern has at most {LONGEST_PATTERN} colours.")
    return tuple(codes)


def _edits(read: Reader, name: str) -> bool:
    """Whether a button of the pattern was pressed."""
    return bool(read.word(f"{name}.add") or read.word(f"{name}.drop"))


def _gauge(read: Reader, name: str) -> int | None:
    """A gauge, as offered."""
    return read.whole(name, 1, 40)


def _yes_no(read: Reader, name: str) -> bool | None:
    """Yes, no, or as the build."""
    return {"yes": True, "no": False}.get(read.one_of(name, ("", "yes", "no")))
