"""What is added to every wire and bought beyond the count, each value with its source beside it."""

from dataclasses import dataclass

from server.domain.model.build import Skill, Spare, SpareOf
from server.domain.model.catalogue import Catalogue, Family
from server.domain.reference import SPARES
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields

SKILLS: dict[Skill, str] = {
    "first_cables": "my first cables",
    "practised": "practised",
    "every_day": "every day",
}
SPARE_NAMES: dict[SpareOf, str] = {
    "contacts": "contacts, of each kind",
    "shrink": "heat-shrink",
    "combs": "combs, a run",
}
OWN = "set for this build"
RULE = "common practice"
WHOLE = "kept in whole mm"


@dataclass(frozen=True, slots=True)
class AllowanceRow:
    """One allowance: its name, its field, what stands where the field is empty, and its source."""

    name: str
    field: Field
    usual: str
    source: str


@dataclass(frozen=True, slots=True)
class FamilyRow:
    """What is added at each end in one connector family."""

    name: str
    depth: Field
    depth_usual: str
    recrimp: Field | None
    """``None`` where nothing is crimped or pressed."""
    recrimp_usual: str
    source: str


@dataclass(frozen=True, slots=True)
class SpareRow:
    """Spares of one thing."""

    name: str
    percent: Field
    percent_usual: str
    least: Field
    least_usual: str
    source: str


@dataclass(frozen=True, slots=True)
class Allowed:
    """Every allowance of a build."""

    general: tuple[AllowanceRow, ...]
    families: tuple[FamilyRow, ...]
    contacts: tuple[AllowanceRow, ...]
    skill: Field
    spares: tuple[SpareRow, ...]
    skills: tuple[tuple[str, tuple[str, ...]], ...]
    """What each skill gives, in the order of ``spares``."""


def allowed(opened: Opened, fields: Fields) -> Allowed:
    """The allowances of a build, for the families and contacts that it uses.

    Args:
        opened: The build as it stands.
        fields: Makes the fields with what was typed last.
    """
    held = opened.build.allowances
    families = tuple(_family(family, opened, fields) for family in _families(opened))
    contacts = tuple(_strip(contact, opened, fields) for contact in _contacts(opened))
    skill = fields.choice(
        "allowances.skill", "How often you make cables", held.skill, SKILLS.items(), "Gives the spares below."
    )
    return Allowed(
        _general(opened, fields),
        families,
        contacts,
        skill,
        tuple(_spare(what, held.skill, held.spares.get(what), fields) for what in SPARE_NAMES),
        tuple((name, tuple(_spare_words(SPARES[key][what]) for what in SPARE_NAMES)) for key, name in SKILLS.items()),
    )


def _general(opened: Opened, fields: Fields) -> tuple[AllowanceRow, ...]:
    """What holds for every wire and every piece of sleeve."""
    held = opened.build.allowances
    rows = (
        (
            "recrimp",
            "Re-crimp reserve, each end you crimp or press",
            held.recrimp_mm,
            f"{RULE}: one crimp cut off and made again",
        ),
        ("slack", "Service slack, each wire", held.slack_mm, "your own choice"),
        ("step", "Cutting step", held.step_mm, f"{RULE}: lengths are rounded up to it; nearly alike are cut alike"),
        ("fray", "Sleeve that frays, each end of a piece", held.fray_mm, f"{RULE}; trimmed off"),
        ("cut_loss", "Lost at each cut from a roll", held.cut_loss_mm, f"your own tool; {WHOLE}, rounded up"),
        ("remnant_least", "Shortest remnant worth keeping", held.remnant_least_mm, f"your own choice; {WHOLE}"),
    )
    return tuple(
        AllowanceRow(name, fields.text(f"allowances.{key}", name, formats.number(value, 3), "", "mm"), "", source)
        for key, name, value, source in rows
    )


def _families(opened: Opened) -> list[Family]:
    """Connector families of the plugs that this build wires, in the order of the catalogue."""
    catalogue = opened.catalogue
    plugs = [plug for run in opened.plan.runs if run.kind != "sleeved" for plug in (*run.sources, *run.ends)]
    used = {catalogue.housings[plug.housing].family for plug in plugs}
    return [family for family in catalogue.families.values() if family.id in used]


def _contacts(opened: Opened) -> dict[str, set[int]]:
    """Crimped contacts of this build with the gauges that they take, in the order of the catalogue."""
    found: dict[str, set[int]] = {}
    for run in opened.plan.runs:
        for wire in run.wires:
            for end in (wire.source, wire.target):
                if end.contact:
                    found.setdefault(end.contact, set()).add(wire.awg)
    contacts = opened.catalogue.contacts
    return {key: found[key] for key, contact in contacts.items() if key in found and contact.gender != "blade"}


def _family(family: Family, opened: Opened, fields: Fields) -> FamilyRow:
    held = opened.build.allowances
    name, depth = family.name, held.depth_mm.get(family.id)
    recrimp = held.recrimp_by_family.get(family.id)
    crimped = family.termination != "moulded"
    return FamilyRow(
        name,
        _length(fields, f"allowances.depth.{family.id}", f"Insertion depth, {name}", depth),
        formats.number(family.insertion_depth_mm, 3),
        _length(fields, f"allowances.recrimp.{family.id}", f"Re-crimp reserve, {name}", recrimp) if crimped else None,
        formats.number(held.recrimp_mm, 3),
        OWN if depth is not None else family.source,
    )


def _strip(contact_id: str, opened: Opened, fields: Fields) -> AllowanceRow:
    catalogue = opened.catalogue
    contact, gauges = catalogue.contacts[contact_id], _contacts(opened)[contact_id]
    own = opened.build.allowances.strip_mm.get(contact_id)
    usual, source = _usual_strip(catalogue, contact_id, gauges)
    field = _length(fields, f"allowances.strip.{contact_id}", f"Strip length, {contact.name}", own)
    return AllowanceRow(contact.name, field, usual, OWN if own is not None else source)


def _usual_strip(catalogue: Catalogue, contact_id: str, gauges: set[int]) -> tuple[str, str]:
    """Strip length of the catalogue for these gauges, a span where they differ, and its source. [mm]"""
    rows = [crimp for crimp in catalogue.crimps if crimp.contact == contact_id]
    rows = [crimp for crimp in rows if crimp.awg in gauges] or rows
    lengths = sorted({crimp.strip_mm for crimp in rows})
    texts = [formats.number(length, 3) for length in (lengths[:1] + lengths[-1:] if len(lengths) > 1 else lengths)]
    return " to ".join(texts), "; ".join(dict.fromkeys(crimp.source for crimp in rows))


def _length(fields: Fields, name: str, label: str, own: float | None) -> Field:
    """A length that may be left empty."""
    return fields.text(name, label, "" if own is None else formats.number(own, 3), "", "mm")


def _spare(what: SpareOf, skill: Skill, own: Spare | None, fields: Fields) -> SpareRow:
    """Spares of one thing; a number that the skill gives is shown where its field is empty."""
    usual, name = SPARES[skill][what], SPARE_NAMES[what]
    percent = "" if own is None or own.percent == usual.percent else formats.number(own.percent, 2)
    least = "" if own is None or own.least == usual.least else str(own.least)
    return SpareRow(
        name,
        fields.text(f"allowances.spares.{what}.percent", f"Share of spare {name}", percent, "", "%"),
        formats.number(usual.percent, 2),
        fields.text(f"allowances.spares.{what}.least", f"At least, {name}", least),
        str(usual.least),
        OWN if percent or least else f"{RULE}, {SKILLS[skill]}",
    )


def _spare_words(spare: Spare) -> str:
    """Spares in words: the larger of a share and a least number."""
    share = f"{formats.number(spare.percent, 2)} %, at least " if spare.percent else ""
    return f"{share}{spare.least}"
