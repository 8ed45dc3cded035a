"""What changed in the finish and the allowances of a build, in words."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields

from server.domain.model.build import Allowances, Finish, RunFinish, Skill, SleeveEnd, Spare, SpareOf
from server.domain.model.catalogue import Catalogue

SLEEVE_END_NAMES: Mapping[SleeveEnd, str] = {
    "shrink": "held by heat-shrink",
    "melted": "melted on, no heat-shrink seen",
    "loose": "left loose",
}
SKILL_NAMES: Mapping[Skill, str] = {
    "first_cables": "first cables",
    "practised": "a practised hand",
    "every_day": "cables every day",
}
_SINGLE_MM = {
    "recrimp_mm": "re-crimp reserve at each end",
    "slack_mm": "service slack",
    "step_mm": "cutting step",
    "fray_mm": "sleeve that frays",
    "cut_loss_mm": "loss at each cut",
    "remnant_least_mm": "least useful remnant",
}
_BY_ID_MM = {
    "depth_mm": "insertion depth",
    "strip_mm": "strip length",
    "recrimp_by_family": "re-crimp reserve",
}


def finish_changes(before: Finish | RunFinish, after: Finish | RunFinish, catalogue: Catalogue) -> tuple[str, ...]:
    """What of a finish is set anew, each with its new value.

    Args:
        before: The earlier finish, of the build or of a run.
        after: The later one, of the same kind.
        catalogue: For names of heat-shrinks.
    """
    names = [entry.name for entry in fields(after) if getattr(before, entry.name) != getattr(after, entry.name)]
    return tuple(_finish_field(name, getattr(after, name), catalogue) for name in names)


def _finish_field(name: str, value: object, catalogue: Catalogue) -> str:
    if value is None:
        return f"{_finish_names.get(name) or name.replace('_', ' ')} as the build"
    if name == "sleeve_end":
        return f"sleeve ends {SLEEVE_END_NAMES.get(value, value)}"  # type: ignore[call-overload]
    if name == "shrink_size":
        shrink = catalogue.shrinks.get(str(value))
        return f"heat-shrink {(shrink.name if shrink else value) or 'the one that fits'}"
    if name == "comb_kind":
        return f"{value} combs"
    return f"{name.replace('_', ' ')} {shown(value)}"


_finish_names = {"sleeve_end": "sleeve ends", "shrink_size": "heat-shrink", "comb_kind": "kind of combs"}


def allowance_changes(before: Allowances, after: Allowances, catalogue: Catalogue) -> Iterator[str]:
    """Sentences on allowances, skill and spares that are set anew.

    Args:
        before: The earlier allowances.
        after: The later ones.
        catalogue: For names of families and contacts.

    Yields:
        One sentence for each field that differs.
    """

    def family(ident: str) -> str:
        return catalogue.families[ident].name if ident in catalogue.families else ident

    def contact(ident: str) -> str:
        return catalogue.contacts[ident].name if ident in catalogue.contacts else ident

    for name, words in _SINGLE_MM.items():
        if getattr(before, name) != getattr(after, name):
            yield f"allowances: {words} {getattr(after, name):g} mm"
    for name, words in _BY_ID_MM.items():
        if getattr(before, name) != getattr(after, name):
            named = contact if name == "strip_mm" else family
            otherwise = "as for every family" if name == "recrimp_by_family" else "as the catalogue"
            listed = _differing(getattr(before, name), getattr(after, name), named, otherwise)
            yield f"allowances: {words} of {listed}"
    if before.skill != after.skill:
        yield f"spares for {SKILL_NAMES.get(after.skill, after.skill)}"
    if before.spares != after.spares:
        yield f"spares: {', '.join(_spares(before.spares, after.spares))}"


def _differing(
    before: Mapping[str, float], after: Mapping[str, float], named: Callable[[str], str], otherwise: str
) -> str:
    ids = [ident for ident in sorted({*before, *after}) if before.get(ident) != after.get(ident)]
    return ", ".join(f"{named(ident)} is {f'{after[ident]:g} mm' if ident in after else otherwise}" for ident in ids)


def _spares(before: Mapping[SpareOf, Spare], after: Mapping[SpareOf, Spare]) -> Iterator[str]:
    for of in sorted({*before, *after}):
        if before.get(of) == after.get(of):
            continue
        spare = after.get(of)
        if spare is None:
            yield f"{of} by skill"
        else:
            share = f"{spare.percent:g} %, at least " if spare.percent else ""
            yield f"{of} {share}{spare.least}{' on each run' if of == 'combs' else ''}"


def shown(value: object) -> str:
    """A setting as a person reads it; ``None`` follows the build."""
    if value is None:
        return "as the build"
    if value is True or value is False:
        return "on" if value else "off"
    if isinstance(value, tuple):
        return " ".join(str(item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{name} {item}" for name, item in value.items()) or "by common practice"
    return str(value) or "none"
