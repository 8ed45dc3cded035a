"""The metering worksheet of a layout: what to expect at every cavity, what was read, and what that says."""

from dataclasses import dataclass

from server.domain.metering import State, Verdict
from server.domain.metering_steps import METERING_CAUTIONS, METERING_STEPS
from server.domain.model.catalogue import Port, Reading
from server.domain.output_limits import EDITION_NAMES
from server.services.layouts import OpenedLayout
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.layout import LATCHES, VIEW, anchor, places
from server.web.views.layouts import metered_words

STATES: dict[State, tuple[str, str]] = {
    "missing": ("–", "not metered"),
    "metered": ("✓", "metered"),
    "no_fit": ("■", "fits nothing"),
    "two_fit": ("▲", "two fit"),
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


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One cavity on the worksheet."""

    cavity: str
    net: str
    expect: str
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

    anchor: str
    form: str
    """Id of the form that its fields belong to."""
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


def metering_panel(opened: OpenedLayout, fields: Fields, entry: int | None = None) -> MeteringPanel:
    """The view of the worksheet.

    Args:
        opened: The layout at its newest version.
        fields: Makes the fields with what was typed last.
        entry: Number of the reading that a refused form was made from; the newest without it.
    """
    layout = opened.layout
    taken = {(each.port, each.cavity): each for each in layout.readings}
    return MeteringPanel(
        entry=opened.entry if entry is None else entry,
        about=VIEW,
        judged=EDITION_NAMES[layout.edition],
        cautions=METERING_CAUTIONS,
        steps=METERING_STEPS,
        ports=tuple(_sheet(opened, port, fields, taken) for port in layout.ports),
        href=f"/layouts/{layout.id}",
    )


def _sheet(opened: OpenedLayout, port: Port, fields: Fields, taken: dict[tuple[str, str], Reading]) -> PortSheet:
    housing = opened.catalogue.housings[port.housing]
    found = {cavity: verdict for (place, cavity), verdict in opened.verdicts.items() if place == port.id}
    nets = {pin.cavity: pin.net for pin in port.pins}
    mark, words = metered_words(sum(each.state == "metered" for each in found.values()), len(found))
    return PortSheet(
        anchor=anchor(port.id),
        form=f"read-{anchor(port.id)}",
        title=port.label,
        socket=housing.name,
        latch=LATCHES[housing.latch],
        href=f"/layouts/{opened.layout.id}/readings/{port.id}",
        columns=housing.columns,
        drawing=tuple(
            CavityMark(number, nets[number] or "n/c", column, row, STATES[found[number].state][0], _tone(found[number]))
            for number, column, row in places(port, opened.catalogue)
            if number in nets
        ),
        rows=tuple(
            _row(port.id, pin.cavity, pin.net, opened, fields, taken.get((port.id, pin.cavity))) for pin in port.pins
        ),
        metered=words,
        mark=mark,
        by_eye=sum(each.by_eye for each in found.values()),
        read=any(place == port.id for place, _ in taken),
    )


def _row(port: str, cavity: str, net: str, opened: OpenedLayout, fields: Fields, reading: Reading | None) -> ReadingRow:
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
