"""The test sheet of a run, as it is printed and as it is filled in on screen, and what the last test came to."""

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from server.domain.continuity import Spot, plug_name
from server.domain.diagnosis import Fault
from server.domain.model.plan import RunPlan
from server.domain.test_sheet import OpenRow, Readings, TestSheet, VoltCheck, verdict_of
from server.domain.test_steps import COLD_STEPS, VOLT_CAUTIONS, VOLT_STEPS
from server.drawing.face import plug_face_svg
from server.services.opened import Opened
from server.services.test_sheets import TestState, faults_for, run_of, sheet_for, standing_of
from server.services.testing import NOT_METERED, state_of
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import run_title, source_text, target_text

if TYPE_CHECKING:
    from server.web.screen import Scene

STATES: dict[TestState, tuple[str, str, str]] = {
    "passed": ("✓", "passed", "done"),
    "failed": ("■", "failed", "stop"),
    "cold": ("▲", "cable good, voltages to follow", "warn"),
    "stale": ("▲", "changed since it was tested: test it again", "warn"),
    "open": ("○", "not tested", "open"),
    "none": ("–", "nothing to test", "open"),
}
"""Mark, words and tone of each state."""
ALSO_MOST = 4
FACES_MOST = 2


@dataclass(frozen=True, slots=True)
class JoinLine:
    """Two cavities that must read as joined."""

    key: str
    label: str
    net: str
    one: str
    other: str


@dataclass(frozen=True, slots=True)
class TouchLine:
    """Cavities of one plug and one net that must stay silent."""

    plug: str
    """Empty where it is the plug of the touches before."""
    net: str
    cavities: str


@dataclass(frozen=True, slots=True)
class OpenLine:
    """One probe held, and all that the other touches."""

    key: str
    net: str
    held: str
    touches: tuple[TouchLine, ...]
    count: int


@dataclass(frozen=True, slots=True)
class VoltLine:
    """A voltage at one cavity."""

    key: str
    name: str
    net: str
    kind: str
    """``on``, ``standby`` or ``ground``."""
    when: str
    black: str
    expect: str


@dataclass(frozen=True, slots=True)
class SheetView:
    """One test sheet as it is printed, to be filled in with a pen, and as it stands above its form."""

    anchor: str
    number: int
    title: str
    href: str
    source: str
    target: str
    mark: str
    """Tells this sheet from an older one of the same run."""
    metered: bool
    joins: tuple[JoinLine, ...]
    joined: str
    """How many joins there are, in words."""
    beside: tuple[tuple[JoinLine, ...], ...]
    """The same two by two, as they stand beside each other on paper."""
    rows: tuple[OpenLine, ...]
    pairs: str
    cold_steps: tuple[str, ...]
    volts: tuple[VoltLine, ...]
    no_volts: str
    volt_stop: str
    """Why no voltage may be read yet; empty where it may."""
    volt_steps: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SuspectFace:
    """One plug to look at, the cavities framed and in words."""

    svg: str
    words: str


@dataclass(frozen=True, slots=True)
class Cause:
    """One likely cause of a failed test."""

    words: str
    advice: str
    against: str
    also: tuple[str, ...]
    faces: tuple[SuspectFace, ...]
    """The plugs to look at."""


@dataclass(frozen=True, slots=True)
class JoinEntry:
    """A join with its field."""

    line: JoinLine
    field: Field


@dataclass(frozen=True, slots=True)
class OpenEntry:
    """An open row with its field."""

    line: OpenLine
    field: Field


@dataclass(frozen=True, slots=True)
class VoltEntry:
    """A voltage with its field: volts to write, or a choice."""

    line: VoltLine
    field: Field


@dataclass(frozen=True, slots=True)
class TestPanel:
    """The form of one run's test."""

    __test__ = False

    sheet: SheetView
    state: str
    mark: str
    words: str
    tone: str
    when: str
    bad: tuple[str, ...]
    """What did not read as expected, in words."""
    causes: tuple[Cause, ...]
    tie: bool
    """Whether several causes fit equally well."""
    joins: tuple[JoinEntry, ...]
    rows: tuple[OpenEntry, ...]
    volts: tuple[VoltEntry, ...]
    revision: int
    base: int
    problem: str
    run_href: str
    tests_href: str
    bench_href: str
    meter_href: str
    before: tuple[str, str] | None
    after: tuple[str, str] | None


def sheet_view(opened: Opened, run_id: str) -> SheetView:
    """The view of one sheet.

    Args:
        opened: The build as it stands.
        run_id: The run.

    Raises:
        NotFoundError: the build has no such run.
    """
    run, sheet = run_of(opened, run_id), sheet_for(opened, run_id)
    metered = sheet.metered or not sheet.volts
    joins = tuple(JoinLine(c.key, c.label, c.net, c.one_name, c.other_name) for c in sheet.joins)
    return SheetView(
        anchor=f"test-{run.number}",
        number=run.number,
        title=run_title(run),
        href=f"/builds/{opened.build_id}/runs/{run.id}/test",
        source=source_text(run),
        target=target_text(run),
        mark=sheet.mark[:6],
        metered=metered,
        joins=joins,
        joined=formats.count(len(joins), "reading"),
        beside=tuple(joins[place : place + 2] for place in range(0, len(joins), 2)),
        rows=tuple(_open_line(run, row) for row in sheet.rows),
        pairs=formats.count(sheet.pairs, "pair"),
        cold_steps=COLD_STEPS,
        volts=tuple(_volt_line(check) for check in sheet.volts),
        no_volts=sheet.no_volts,
        volt_stop="" if metered else NOT_METERED,
        volt_steps=VOLT_STEPS if sheet.volts else (),
        cautions=VOLT_CAUTIONS if sheet.volts else (),
    )


def test_panel(scene: "Scene", when: str) -> TestPanel:
    """The view of the form.

    Args:
        scene: What every panel is made from.
        when: Day and time of the last test; empty without one.

    Raises:
        NotFoundError: the build has no such run.
    """
    opened, run_id, fields = scene.opened, scene.run_id, scene.fields
    run, sheet, standing = run_of(opened, run_id), sheet_for(opened, run_id), standing_of(opened, run_id)
    state = state_of(opened, run_id)
    mark, words, tone = STATES[state]
    shown = sheet_view(opened, run_id)
    # What failed is read anew from the top once it is mended; what was good is not asked for again.
    current = standing.readings if state == "cold" else Readings()
    failed = state == "failed"
    causes = faults_for(opened, run_id, standing.readings) if failed else ()
    problems = {problem.field: problem.message for problem in fields.sent.problems}
    return TestPanel(
        sheet=shown,
        state=state,
        mark=mark,
        words=words,
        tone=tone,
        when=when,
        bad=bad_words(sheet, standing.readings) if failed else (),
        causes=tuple(_cause(opened, run, fault, drawn=place == 0) for place, fault in enumerate(causes)),
        tie=len(causes) > 1 and causes[0].contradicts == causes[1].contradicts,
        joins=tuple(_join_entry(line, fields, current) for line in shown.joins),
        rows=tuple(_open_entry(line, row, fields, current) for line, row in zip(shown.rows, sheet.rows, strict=True)),
        volts=tuple(_volt_entry(line, fields, current) for line in shown.volts) if sheet.metered else (),
        revision=scene.base,
        base=opened.ledger,
        problem=problems.get("all", "") or problems.get("base", "") or problems.get("", ""),
        run_href=f"/builds/{opened.build_id}/runs/{run_id}",
        tests_href=f"/builds/{opened.build_id}/tests",
        bench_href=f"/builds/{opened.build_id}/ledger?of=run:{run_id}",
        meter_href=f"/builds/{opened.build_id}/supply",
        before=_step(opened, run, -1),
        after=_step(opened, run, 1),
    )


def bad_words(sheet: TestSheet, readings: Readings) -> tuple[str, ...]:
    """What did not read as expected, check by check.

    Args:
        sheet: The sheet.
        readings: What was read on it.
    """
    bad = set(verdict_of(sheet, readings).bad)
    told = [f"{c.label}: {c.one_name} to {c.other_name} is silent" for c in sheet.joins if c.key in bad]
    for row in sheet.rows:
        if row.key in bad:
            heard = [touch.name for touch in row.touches if touch.group == readings.sounds[row.key]]
            told.append(f"{row.held_name} sounds with {heard[0] if heard else readings.sounds[row.key]}")
    for check in sheet.volts:
        if check.key in bad:
            value = readings.volts.get(check.key)
            read = f"{formats.volts(value)} V" if value is not None else "otherwise"
            told.append(f"{check.name} ({check.net}) reads {read}, expected {check.words}")
    return tuple(told)


def _open_line(run: RunPlan, row: OpenRow) -> OpenLine:
    """Touches of one row, those of one plug and net together."""

    def of(touch_spot: Spot) -> str:
        return plug_name(run, touch_spot.side, touch_spot.plug)

    touches: list[TouchLine] = []
    before = ""
    for (plug, net), held in groupby(row.touches, key=lambda touch: (of(touch.spot), touch.net)):
        cavities = formats.listed(touch.spot.cavity for touch in held)
        touches.append(TouchLine("" if plug == before else plug, net, cavities))
        before = plug
    return OpenLine(row.key, row.net, row.held_name, tuple(touches), len(row.touches))


def _volt_line(check: VoltCheck) -> VoltLine:
    when = {"on": "on", "standby": "standby", "ground": "cord out, continuity"}[check.kind]
    return VoltLine(check.key, check.name, check.net, check.kind, when, check.black_name, check.words)


def _join_entry(line: JoinLine, fields: Fields, current: Readings) -> JoinEntry:
    joined = current.joined.get(line.key)
    value = "" if joined is None else "yes" if joined else "no"
    options = (("", "not read yet"), ("yes", "sounds"), ("no", "does not sound"))
    return JoinEntry(line, fields.choice(line.key, f"{line.label}, {line.one} to {line.other}", value, options))


def _open_entry(line: OpenLine, row: OpenRow, fields: Fields, current: Readings) -> OpenEntry:
    heard = current.sounds.get(row.key)
    value = "" if heard is None else heard or "silent"
    options = (
        ("", "not read yet"),
        ("silent", "all silent"),
        *((touch.group, f"sounds with {touch.name}, {touch.net}") for touch in row.touches),
    )
    return OpenEntry(line, fields.choice(row.key, f"probe on {line.held}", value, options))


def _volt_entry(line: VoltLine, fields: Fields, current: Readings) -> VoltEntry:
    label = f"{line.name}, {line.net}"
    if line.kind == "ground":
        joined = current.grounds.get(line.key)
        value = "" if joined is None else "joined" if joined else "open"
        options = (("", "not read yet"), ("joined", "joined to COM"), ("open", "open to COM"))
        return VoltEntry(line, fields.choice(line.key, label, value, options))
    return VoltEntry(line, fields.text(line.key, label, formats.volts(current.volts.get(line.key)), unit="V"))


def _cause(opened: Opened, run: RunPlan, fault: Fault, *, drawn: bool) -> Cause:
    against = f"{formats.count(fault.contradicts, 'reading')} against it" if fault.contradicts else ""
    return Cause(
        words=_sentence(fault.words),
        advice=fault.advice,
        against=against,
        also=tuple(_sentence(other.words) for other in fault.also[:ALSO_MOST]),
        faces=_faces(opened, run, fault) if drawn else (),
    )


def _faces(opened: Opened, run: RunPlan, fault: Fault) -> tuple[SuspectFace, ...]:
    """The plugs that the cause and what reads like it speak of, each drawn once."""
    spots: dict[tuple[str, int], list[str]] = {}
    for spot in (spot for held in (fault, *fault.also[:ALSO_MOST]) for spot in held.spots):
        spots.setdefault((spot.side, spot.plug), []).append(spot.cavity)
    made = []
    for (side, index), cavities in list(spots.items())[:FACES_MOST]:
        named = list(dict.fromkeys(cavities))
        framed = named if len(named) < 9 else []
        svg = plug_face_svg(run, index, side == "source", opened.catalogue, captions=False, look_at=framed)
        name = plug_name(run, "source" if side == "source" else "end", index)
        where = f"{'cavity' if len(named) == 1 else 'cavities'} {formats.listed(framed)}, framed" if framed else "all"
        made.append(SuspectFace(svg, f"{name}, wire side: look at {where}"))
    return tuple(made)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _step(opened: Opened, run: RunPlan, by: int) -> tuple[str, str] | None:
    """The test of the run before or behind this one."""
    runs = [held for held in opened.plan.runs if sheet_for(opened, held.id).joins]
    if run not in runs:
        return None
    at = runs.index(run) + by
    if not 0 <= at < len(runs):
        return None
    return f"/builds/{opened.build_id}/runs/{runs[at].id}/test", f"Run {runs[at].number}"
