"""A run with everything it refers to looked up: sockets, housings, finish."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.model.build import Build, ColourMode, PlugRef, Run
from server.domain.model.catalogue import Family, Housing, Insulation, Use
from server.domain.model.plan import Kind
from server.domain.reference import BUNDLED_USES, COMBED_USES, DEFAULT_AWG_BY_USE, SENSE_AWG, SLEEVE_BY_USE
from server.domain.sockets import SocketFacts, key


@dataclass(frozen=True, slots=True)
class RunPlug:
    """A plug of a run with its socket, housing and family."""

    ref: PlugRef
    facts: SocketFacts

    @property
    def housing(self) -> Housing:
        """Housing of this end of the cable."""
        return self.facts.housing

    @property
    def family(self) -> Family:
        """Connector family of this end of the cable."""
        return self.facts.family


@dataclass(frozen=True, slots=True)
class Style:
    """The finish that holds for one run: its own word where it has one, else the build's."""

    awg: int
    insulation: Insulation
    colour_mode: ColourMode
    pattern: tuple[str, ...]
    sleeve: str
    sleeve_pattern: tuple[str, ...]
    shrink: bool
    combs: bool
    bundled: bool
    """True when one sleeve goes over all wires together."""


@dataclass(frozen=True, slots=True)
class ResolvedRun:
    """A run ready to be planned."""

    run: Run
    use: Use
    kind: Kind
    sources: tuple[RunPlug, ...]
    ends: tuple[RunPlug, ...]
    style: Style

    @property
    def optional(self) -> tuple[str, ...]:
        """Optional cavities that the builder wants and whose net a source carries."""
        carried = {net for source in self.sources for net in source.facts.nets.values()}
        pins = self.ends[0].facts.wanted_pins(self.run.optional)
        return tuple(p.cavity for p in pins if p.need == "optional" and carried & set(p.accepts))

    @property
    def displaced(self) -> bool:
        """True when every part plug presses its wires instead of crimping them."""
        return all(end.family.termination == "displacement" for end in self.ends)


def resolve(run: Run, build: Build, sockets: Mapping[tuple[str, str], SocketFacts]) -> ResolvedRun | None:
    """Look up everything one run refers to.

    Args:
        run: The run.
        build: The build it belongs to.
        sockets: ``every_socket`` of the build.

    Returns:
        The resolved run without the sources that no longer exist; ``None`` when an end does not exist.
    """
    ends = [_plug(ref, sockets) for ref in run.ends]
    sources = [_plug(ref, sockets) for ref in run.sources]
    if not ends or any(end is None for end in ends):
        return None
    found_ends = tuple(end for end in ends if end is not None)
    first = found_ends[0].facts
    kind: Kind = "sleeved" if not first.rewired else "chain" if len(found_ends) > 1 else "wired"
    use = first.uses[0]
    return ResolvedRun(run, use, kind, tuple(s for s in sources if s is not None), found_ends, _style(run, build, use))


def _plug(ref: PlugRef, sockets: Mapping[tuple[str, str], SocketFacts]) -> RunPlug | None:
    facts = sockets.get(key(ref))
    return None if facts is None else RunPlug(ref, facts)


def _style(run: Run, build: Build, use: Use) -> Style:
    own, common = run.finish, build.finish
    sleeve = own.sleeve
    if sleeve is None:
        sleeve = SLEEVE_BY_USE.get(use, common.sleeve) if common.sleeve else ""
    return Style(
        awg=own.awg or common.awg_by_use.get(use) or DEFAULT_AWG_BY_USE.get(use, SENSE_AWG),
        insulation=own.insulation or common.insulation,
        colour_mode=own.colour_mode or common.colour_mode,
        pattern=own.pattern or common.pattern,
        sleeve=sleeve,
        sleeve_pattern=own.sleeve_pattern or common.sleeve_pattern,
        shrink=common.shrink if own.shrink is None else own.shrink,
        combs=(common.combs and use in COMBED_USES) if own.combs is None else own.combs,
        bundled=use in BUNDLED_USES,
    )
