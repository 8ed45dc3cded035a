"""The metering worksheet of a layout: what to expect at every cavity, what was read, and what that says."""

from dataclasses import dataclass

from server.domain.metering import State, Verdict
from server.domain.metering_steps import METERING_CAUTIONS, METERING_STEPS
from server.domain.model.catalogue import Port, Reading
from server.domain.output_limits import EDITION_NAMES
from server.services.layout_use import LayoutUse
from server.services.layouts import OpenedLayout
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.layout import LATCHES, VIEW, anchor, places
from server.web.views.layouts import metered_words

STATES: dict[State, tuple[str, str]] = {
    "missing": ("–", "not metered"),
    "metered": ("✓", "metered"),
    "no_fit": ("■", "fits no output"),
    "two_fit": ("▲", "not told apart"),
    "contradicts": ("■", "contradicts"),
}
TONES: dict[State, str] = {
    "missing": "open",
    "metered": "done",
    "no_fit": "stop",
    "two_fit": "warn",
    "contradicts": "stop",
}


@dataclass(frozen=True, slots=True)
class CavityMark:
    """One cavity in the drawing of a socket."""

    number: str
    net: str
    column: int
    row: int
    mark: str
    tone: str
    used: bool
    """Whether the build uses it that the worksheet was opened from."""


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One cavity on the worksheet."""

    cavity: str
    net: str
    expect: str
    used: bool
    imported: str
    """What a file's reading says that does not count; empty without one."""
    on: Field
    standby: Field
    ground: Field
    settled: Field
    mark: str
    word: str
    tone: str
    text: str


@dataclass(frozen=True, slots=True)
class PortSheet:
    """One port on the worksheet."""

    id: str
    anchor: str
    title: str
    socket: str
    latch: str
    href: str
    columns: int
    drawing: tuple[CavityMark, ...]
    rows: tuple[ReadingRow, ...]
    metered: str
    mark: str
    by_eye: int
    """Cavities that the builder must settle by eye."""
    read: bool
    """True when something was read at the port."""
    used: str
    """How many of its cavities the build uses, in words; empty where the worksheet was opened from none."""


@dataclass(frozen=True, slots=True)
class BuildUse:
    """What the build uses of the layout that the worksheet was opened from."""

    metered: str
    mark: str
    version: str
    """That the build was planned with an older version; empty where it was not."""


@dataclass(frozen=True, slots=True)
class ImportedReadings:
    """Readings that came with a file and do not count."""

    words: str
    adopt: str
    drop: str
    same: Field


@dataclass(frozen=True, slots=True)
class MeteringPanel:
    """The worksheet."""

    entry: int
    about: str
    judged: str
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    ports: tuple[PortSheet, ...]
    href: str
    record: str
    """Address that takes the whole worksheet."""
    build: BuildUse | None
    imported: ImportedReadings | None


def metering_panel(
    opened: OpenedLayout, fields: Fields, entry: int | None = None, use: LayoutUse | None = None
) -> MeteringPanel:
    """The view of the worksheet.

    Args:
        opened: The layout at its newest version.
        fields: Makes the fields with what was typed last.
        entry: Number of the reading that a refused form was made from; the newest without it.
        use: What the build uses that the worksheet was opened from.
    """
    layout = opened.layout
    href = f"/layouts/{layout.id}"
    taken = {(each.port, each.cavity): each for each in layout.readings}
    return MeteringPanel(
        entry=opened.entry if entry is None else entry,
        about=VIEW,
        judged=EDITION_NAMES[layout.edition],
        cautions=METERING_CAUTIONS,
        steps=METERING_STEPS,
        ports=tuple(_sheet(opened, port, fields, taken, use) for port in layout.ports),
        href=href,
        record=f"{href}/readings",
        build=_build(use, opened.latest) if use else None,
        imported=_imported(opened, fields, href) if opened.imported else None,
    )


def _build(use: LayoutUse, latest: int) -> BuildUse:
    done = use.progress
    mark = "✓" if done.cavities and done.metered == done.cavities else "▲"
    metered = f"{done.metered} of {done.cavities} cavities that it uses are metered"
    older = f"It was planned with version {use.version}; this is version {latest}." if use.version < latest else ""
    return BuildUse(metered, mark, older)


def _imported(opened: OpenedLayout, fields: Fields, href: str) -> ImportedReadings:
    words = formats.count(len(opened.imported), "reading")
    same = "These readings were taken on this very supply: the same maker's type and the same unit"
    return ImportedReadings(
        words, f"{href}/imported", f"{href}/imported/drop", fields.tick("same_supply", same, current=False)
    )


def _sheet(
    opened: OpenedLayout,
    port: Port,
    fields: Fields,
    taken: dict[tuple[str, str], Reading],
    use: LayoutUse | None,
) -> PortSheet:
    housing = opened.catalogue.housings[port.housing]
    used = {cavity for place, cavity in use.places if place == port.id} if use else set()
    found = {cavity: verdict for (place, cavity), verdict in opened.verdicts.items() if place == port.id}
    nets = {pin.cavity: pin.net for pin in port.pins}
    mark, words = metered_words(sum(each.state == "metered" for each in found.values()), len(found))
    return PortSheet(
        id=port.id,
        anchor=anchor(port.id),
        title=port.label,
        socket=housing.name,
        latch=LATCHES[housing.latch],
        href=f"/layouts/{opened.layout.id}/readings/{port.id}",
        columns=housing.columns,
        drawing=tuple(
            CavityMark(
                number,
                nets[number] or "n/c",
                column,
                row,
                STATES[found[number].state][0],
                _tone(found[number]),
                number in used,
            )
            for number, column, row in places(port, opened.catalogue)
            if number in nets
        ),
        rows=tuple(
            _row(port.id, pin.cavity, pin.net, opened, fields, taken.get((port.id, pin.cavity)), pin.cavity in used)
            for pin in port.pins
        ),
        metered=words,
        mark=mark,
        by_eye=sum(each.by_eye for each in found.values()),
        read=any(place == port.id for place, _ in taken),
        used=f"The build uses {formats.count(len(used), 'cavity', 'cavities') if used else 'none'} here" if use else "",
    )


def _row(
    port: str, cavity: str, net: str, opened: OpenedLayout, fields: Fields, reading: Reading | None, used: bool
) -> ReadingRow:
    verdict = opened.verdicts[port, cavity]
    taken = reading or Reading(port, cavity)
    path, about = f"readings.{port}.{cavity}", f"Cavity {cavity},"
    mark, word = STATES[verdict.state]
    ground = "" if taken.to_ground is None else "yes" if taken.to_ground else "no"
    nets = dict.fromkeys(each for each in (net, *verdict.fits, taken.settled) if each)
    choices = [("", "–"), *((each, each) for each in nets)]
    ground_label, settled_label = f"{about} continuity to ground", f"{about} settled by eye"
    return ReadingRow(
        cavity=cavity,
        net=net or "not connected",
        expect=opened.expected[port, cavity],
        used=used,
        imported=opened.imported_words.get((port, cavity), ""),
        on=fields.text(f"{path}.on", "on", formats.volts(taken.on_v), about=about),
        standby=fields.text(f"{path}.standby", "standby", formats.volts(taken.standby_v), about=about),
        ground=fields.choice(f"{path}.ground", ground_label, ground, [("", "–"), ("yes", "yes"), ("no", "no")]),
        settled=fields.choice(f"{path}.settled", settled_label, taken.settled, choices),
        mark=mark,
        word=word,
        tone=_tone(verdict),
        text=verdict.text if verdict.state != "missing" else "",
    )


def _tone(verdict: Verdict) -> str:
    return TONES[verdict.state]
