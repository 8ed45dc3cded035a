"""A run with everything it refers to looked up: sockets, housings, finish."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from server.domain.materials.sleeves import girth_diameter_mm, sleeve_for
from server.domain.model.build import SUPPLY, Build, ColourMode, Method, PlugRef, Run, SleeveEnd
from server.domain.model.catalogue import Catalogue, CombKind, Family, Housing, Insulation, Use
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


def draw_of(plug: RunPlug) -> dict[str, float]:
    """Greatest current of one part by net, with the sum of it coming back on COM. [A]"""
    load_a = dict(plug.facts.pinout.load_a) if plug.facts.pinout else {}
    back = sum(current for net, current in load_a.items() if net.startswith("+"))
    return {**load_a, "COM": back} if back else load_a


@dataclass(frozen=True, slots=True)
class Style:
    """The finish that holds for one run: its own word where it has one, else the build's."""

    awg: int
    insulation: Insulation
    colour_mode: ColourMode
    pattern: tuple[str, ...]
    sleeve: str
    sleeve_pattern: tuple[str, ...]
    sleeve_end: SleeveEnd
    shrink_size: str
    """Id of a heat-shrink; an empty word takes the one that fits."""
    combs: bool
    comb_kind: CombKind
    bundled: bool
    """True when one sleeve goes over all wires together."""


@dataclass(frozen=True, slots=True)
class ResolvedRun:
    """A run ready to be planned."""

    run: Run
    use: Use
    kind: Kind
    sources: tuple[RunPlug, ...]
    """Plugs that give: of the supply or a header, or the mating half on the supply's own cable for an extension."""
    ends: tuple[RunPlug, ...]
    style: Style
    method: Method
    """How it is built; ``scratch`` where the method asked for is not possible."""
    refused: str
    """Why the method asked for is not possible; empty when it is, or when none was asked for."""

    @property
    def pinned(self) -> dict[str, tuple[int, str]]:
        """Source plug (index) and cavity chosen by hand, by part cavity; none for an extension."""
        index = {key(plug.ref): i for i, plug in enumerate(self.sources)}
        free = {(c.part, c.socket, c.cavity) for c in self.run.shared if c.remedy == "free_cavity"}
        return {
            pin.cavity: (index[pin.part, pin.socket], pin.source_cavity)
            for pin in self.run.pins
            if self.method != "extension"
            and (pin.part, pin.socket) in index
            and (pin.part, pin.socket, pin.source_cavity) not in free
        }

    def forbidden(self, plug: RunPlug) -> frozenset[str]:
        """Cavities of one source plug that no wire may use."""
        if self.method == "extension":
            return frozenset()
        return frozenset(f.cavity for f in self.run.forbidden if (f.part, f.socket) == key(plug.ref))

    @property
    def gaps(self) -> int:
        """Stretches between part plugs along a chain; a fork has none."""
        return 0 if self.kind == "fork" else len(self.ends) - 1

    @property
    def optional(self) -> tuple[str, ...]:
        """Optional cavities of the first part plug that the builder wants and whose net a source carries."""
        return self.optional_at(0)

    def optional_at(self, index: int) -> tuple[str, ...]:
        """Optional cavities that one part plug gets wired; along a chain those of its first plug go on to every other.

        Args:
            index: Part plug, counted as in ``ends``.
        """
        carried = {net for source in self.sources for net in source.facts.nets.values()}
        pins = self.ends[index if self.kind == "fork" else 0].facts.wanted_pins(self.run.optional)
        return tuple(p.cavity for p in pins if p.need == "optional" and carried & set(p.accepts))

    @property
    def displaced(self) -> bool:
        """True when every part plug presses its wires instead of crimping them."""
        return all(map(self.presses, range(len(self.ends))))

    def presses(self, index: int) -> bool:
        """True when one part plug presses its wires instead of crimping them, so that a wire can run through it."""
        return self.ends[index].family.termination == "displacement"


def resolve(
    run: Run, build: Build, catalogue: Catalogue, sockets: Mapping[tuple[str, str], SocketFacts]
) -> ResolvedRun | None:
    """Look up everything one run refers to.

    Args:
        run: The run.
        build: The build it belongs to.
        catalogue: Reference data.
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
    kind = _kind(run, found_ends)
    use = first.uses[0]
    found_sources = tuple(s for s in sources if s is not None)
    refused = method_refused(run.method, kind, found_sources, found_ends, catalogue)
    method: Method = "scratch" if refused else run.method
    if method == "extension":
        found_sources = (_own_cable(found_sources[0], found_ends[0], run, catalogue),)
    return ResolvedRun(
        run,
        use,
        kind,
        found_sources,
        found_ends,
        _style(run, build, use, _usual_sleeve(build, first, use, catalogue)),
        method,
        refused,
    )


def _kind(run: Run, ends: tuple[RunPlug, ...]) -> Kind:
    if not ends[0].facts.rewired:
        return "sleeved"
    if len(ends) == 1:
        return "wired"
    return "fork" if run.branching == "fork" else "chain"


def method_refused(
    method: Method, kind: Kind, sources: tuple[RunPlug, ...], ends: tuple[RunPlug, ...], catalogue: Catalogue
) -> str:
    """Why a run cannot be built in a way; empty when it can."""
    if method == "scratch":
        return ""
    if kind != "wired":
        return "a run with several part plugs, and a cable that is only sleeved, is built new or left as it is"
    if not sources or any(source.ref.part != SUPPLY for source in sources):
        return "only a run that starts at the supply can use the supply's own cable"
    if method == "extension" and ends[0].housing.mates_with not in catalogue.housings:
        return f"no mating half of {ends[0].housing.name} is listed"
    return ""


def _own_cable(port: RunPlug, end: RunPlug, run: Run, catalogue: Catalogue) -> RunPlug:
    """The far plug of the supply's own cable as a source: straight through, so it carries what the inlet wants."""
    housing = catalogue.housings[end.housing.mates_with]
    wanted = {pin.cavity: pin.net for pin in end.facts.wanted_pins(run.optional)}
    nets = {cavity: wanted.get(cavity, "") for cavity in end.facts.nets}
    label = f"own cable of {port.facts.label}"
    facts = replace(
        port.facts, label=label, housing=housing, family=catalogue.families[housing.family], nets=nets, functions=nets
    )
    return RunPlug(port.ref, facts)


def _plug(ref: PlugRef, sockets: Mapping[tuple[str, str], SocketFacts]) -> RunPlug | None:
    facts = sockets.get(key(ref))
    return None if facts is None else RunPlug(ref, facts)


def _usual_sleeve(build: Build, first: SocketFacts, use: Use, catalogue: Catalogue) -> str:
    """The sleeve of a run that has no word of its own: by use, or the smallest that passes a moulded cable's plug."""
    common = build.finish.sleeve
    if not common:
        return ""
    pinout = first.pinout
    if not first.rewired and pinout is not None and pinout.plug_girth_mm:
        over, past = (girth_diameter_mm(girth) for girth in (pinout.cable_girth_mm, pinout.plug_girth_mm))
        if fitting := sleeve_for(catalogue, over, past):
            return fitting.id
    return SLEEVE_BY_USE.get(use, common)


def _style(run: Run, build: Build, use: Use, usual_sleeve: str) -> Style:
    own, common = run.finish, build.finish
    sleeve = usual_sleeve if own.sleeve is None else own.sleeve
    return Style(
        awg=own.awg or common.awg_by_use.get(use) or DEFAULT_AWG_BY_USE.get(use, SENSE_AWG),
        insulation=own.insulation or common.insulation,
        colour_mode=own.colour_mode or common.colour_mode,
        pattern=own.pattern or common.pattern,
        sleeve=sleeve,
        sleeve_pattern=own.sleeve_pattern or common.sleeve_pattern,
        sleeve_end=own.sleeve_end or common.sleeve_end,
        shrink_size=common.shrink_size if own.shrink_size is None else own.shrink_size,
        combs=(common.combs and use in COMBED_USES) if own.combs is None else own.combs,
        comb_kind=own.comb_kind or common.comb_kind,
        bundled=use in BUNDLED_USES,
    )
