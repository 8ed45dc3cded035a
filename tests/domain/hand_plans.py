"""Good plans written by hand: what a careful builder would make, cavity by cavity, without asking the planner.

Each is right by the pinouts and layouts that stand beside it; the proof must find nothing in any of them.
"""

from dataclasses import dataclass, replace

from server.domain.model.build import SUPPLY, Branching, Build, Method, Part, PlugRef, Run, Socket
from server.domain.model.catalogue import Catalogue, Port
from server.domain.model.plan import Joint, LengthTerm, Plan, PlannedWire, Plug, RunPlan, TapMark, WireEnd
from server.domain.plan import plan
from tests.domain.scenes import layout, port, shipped_catalogue, with_layout


@dataclass(frozen=True)
class Proved:
    """A plan with the build and catalogue it is proved against."""

    plan: Plan
    build: Build
    catalogue: Catalogue

    @property
    def run(self) -> RunPlan:
        return self.plan.runs[0]

    def with_run(self, run: RunPlan) -> "Proved":
        return replace(self, plan=replace(self.plan, runs=(run, *self.plan.runs[1:])))

    def with_wires(self, *wires: PlannedWire) -> "Proved":
        return self.with_run(replace(self.run, wires=wires))


def end(plug: int, cavity: str, contact: str, *shared: str, crimped: bool = True) -> WireEnd:
    return WireEnd(plug, cavity, contact, shared, crimped=crimped)


def hand_wire(
    label: str, net: str, source: WireEnd, *stops: WireEnd, at_end: bool = False, awg: int = 18
) -> PlannedWire:
    return PlannedWire(
        id=f"r1/{label}", label=label, source=source, target=stops[-1], source_at_end=at_end, taps=stops[:-1], net=net,
        function=net, awg=awg, insulation="plain", colour="BK", sleeve_colour="", route_mm=300.0,
        terms=(LengthTerm("route", 300.0, "measured"), LengthTerm("ends", 30.0, "measured")), cut_mm=330, buy_mm=330,
    )  # fmt: skip


def straight_wire(label: str, net: str, source: str, target: str, contact: str = "p42-socket-18") -> PlannedWire:
    """A wire between two single plugs of the 4.2 mm family."""
    return hand_wire(label, net, end(0, source, contact), end(0, target, "p42-socket-18"))


def proved(
    inlets: str,
    ports: tuple[Port, ...],
    wires: tuple[PlannedWire, ...],
    *,
    method: Method = "scratch",
    joints: tuple[Joint, ...] = (),
    optional: tuple[str, ...] = (),
    branching: Branching = "chain",
    caps: tuple[str, ...] = (),
    tap_marks: tuple[TapMark, ...] = (),
    catalogue: Catalogue | None = None,
) -> Proved:
    """A plan of one run from these ports to parts with these inlets, one a part, words apart."""
    catalogue = with_layout(catalogue or shipped_catalogue(), layout(*ports))
    pinouts = [catalogue.pinouts[inlet] for inlet in inlets.split()]
    parts = len(pinouts)
    sources = tuple(PlugRef(SUPPLY, p.id) for p in ports)
    ends = tuple(PlugRef(f"p{i + 1}", "in") for i in range(parts))
    build = Build(
        "By hand",
        supply="test",
        parts=tuple(
            Part(ref.part, "other", ref.part, (Socket("in", pinout.id),))
            for ref, pinout in zip(ends, pinouts, strict=True)
        ),
        runs=(Run("r1", 1, sources, ends, optional=optional, method=method, branching=branching),),
        next_number=2,
    )
    half = catalogue.housings[pinouts[0].housing].mates_with
    run = RunPlan(
        id="r1", number=1, name="by hand", use=pinouts[0].use, kind=branching if parts > 1 else "wired",
        state="measured", length_mm=300.0, low_mm=None, high_mm=None, spacing_mm=(),
        sources=tuple(
            Plug(ref, "Supply", p.label, half if method == "extension" else p.housing, True, False,
                 {pin.cavity: pin.net for pin in p.pins}, {})
            for ref, p in zip(sources, ports, strict=True)
        ),
        ends=tuple(
            Plug(ref, ref.part, pinout.id, pinout.housing, False, False,
                 {p.cavity: "" if p.need == "not_connected" else p.net for p in pinout.pins}, {}, cap)
            for ref, pinout, cap in zip(ends, pinouts, caps or ("",) * parts, strict=True)
        ),
        wires=wires, crossings=0, doubles=0, spare_cavities=(), combs=(), sleeve_pieces=(), sleeve_end="shrink",
        shrink="", shrink_count=0, shrink_cut_mm=0, notes=(), method=method, joints=joints, tap_marks=tap_marks,
    )  # fmt: skip
    empty = plan(Build("By hand"), catalogue)
    return Proved(replace(empty, runs=(run,)), build, catalogue)


CPU_PORT = port("a", "p42-4-plug", ["cpu"], ["+12V", "+12V", "COM", "COM"])
"""Crossed over against the 4-position CPU inlet, which takes COM in 1 and 2, +12V in 3 and 4."""


def cpu_wires(contact: str = "p42-socket-18") -> tuple[PlannedWire, ...]:
    nets = {"1": ("COM", "3"), "2": ("COM", "4"), "3": ("+12V", "1"), "4": ("+12V", "2")}
    return tuple(straight_wire(f"1-0{to}", net, source, to, contact) for to, (net, source) in nets.items())


def four_wires() -> Proved:
    return proved("cpu-4", (CPU_PORT,), cpu_wires())


def with_sense_line() -> Proved:
    """The same from a 6-position port with a +12V sense line in 5, which ends beside the wire to cavity 3."""
    sensing = port("a", "p42-6-plug", ["cpu"], ["+12V", "+12V", "COM", "COM", "+12V_SENSE", ""])
    one, two, three, four = cpu_wires()
    three = replace(three, target=end(0, "3", "p42-socket-18", "1-03s"))
    sense = hand_wire("1-03s", "+12V_SENSE", end(0, "5", "p42-socket-18"), end(0, "3", "p42-socket-18", "1-03"), awg=22)
    return proved("cpu-4", (sensing,), (one, two, three, sense, four))


GRAPHICS_PORT = port("a", "p42-8g-plug", ["graphics"], ["+12V"] * 4 + ["COM"] * 4)
"""Four and four: one COM contact short for the 150 W inlet, which takes +12V in 1 to 3, COM in 4 to 8."""
CARRIED = (("1", "+12V", "1"), ("2", "+12V", "2"), ("3", "+12V", "3"), ("5", "COM", "5"), ("7", "COM", "6"),
           ("8", "COM", "7"))  # fmt: skip
"""(part cavity, net, source cavity) of the six wires that carry current."""


def graphics(sense1: PlannedWire, sense0: PlannedWire, joints: tuple[Joint, ...] = ()) -> Proved:
    carried = tuple(straight_wire(f"1-0{to}", net, source, to) for to, net, source in CARRIED)
    return proved("graphics-8", (GRAPHICS_PORT,), (*carried, sense1, sense0), joints=joints)


def with_double() -> Proved:
    """Both sense wires of the 150 W inlet in source contact 8."""
    return graphics(
        hand_wire("1-04", "COM", end(0, "8", "p42-socket-18", "1-06"), end(0, "4", "p42-socket-18"), awg=22),
        hand_wire("1-06", "COM", end(0, "8", "p42-socket-18", "1-04"), end(0, "6", "p42-socket-18"), awg=22),
    )


def with_splice() -> Proved:
    """The wire to 6 is soldered to the wire to 4, which alone is crimped into source contact 8."""
    return graphics(
        straight_wire("1-04", "COM", "8", "4"),
        hand_wire("1-06", "COM", end(0, "8", "", crimped=False), end(0, "6", "p42-socket-18"), awg=22),
        (Joint("splice", ("1-04", "1-06"), True, 0, "8", "", 40.0, "small"),),
    )


def with_jumper() -> Proved:
    """Cavity 6 is bridged from cavity 7 beside it, which has a COM wire of its own."""
    made = graphics(
        straight_wire("1-04", "COM", "8", "4"),
        hand_wire(
            "1-06", "COM", end(0, "7", "p42-socket-18", "1-07"), end(0, "6", "p42-socket-18"), at_end=True, awg=22
        ),
        (Joint("jumper", ("1-06",), False, 0, "6", "7", 0.0, ""),),
    )
    own = end(0, "7", "p42-socket-18", "1-06")
    return made.with_wires(*(replace(w, target=own) if w.label == "1-07" else w for w in made.run.wires))


DRIVE_PORT = port("a", "p42-6-plug", ["drive"], ["+12V", "COM", "+5V", "COM", "", ""])


def crimped_chain() -> Proved:
    """Two peripheral plugs, +12V COM COM +5V each: the second fed from the contacts of the first."""
    nets = (("1", "+12V", "1"), ("2", "COM", "2"), ("3", "COM", "4"), ("4", "+5V", "3"))
    first = [
        hand_wire(f"1-0{to}", net, end(0, source, "p42-socket-18"), end(0, to, "p508-socket", f"1b-0{to}"))
        for to, net, source in nets
    ]
    second = [
        hand_wire(f"1b-0{to}", net, end(0, to, "p508-socket", f"1-0{to}"), end(1, to, "p508-socket"), at_end=True)
        for to, net, _ in nets
    ]
    return proved("peripheral-4 peripheral-4", (DRIVE_PORT,), (*first, *second))


def through_chain() -> Proved:
    """Three SATA plugs pressed onto four wires that run through: +12V COM +5V COM, +3.3V left out."""
    nets = (("1", "+12V", "1"), ("2", "COM", "2"), ("3", "+5V", "3"), ("4", "COM", "4"))
    wires = tuple(
        hand_wire(f"1-0{to}", net, end(0, source, "p42-socket-18"), *(end(i, to, "satad-blade") for i in range(3)))
        for to, net, source in nets
    )
    labels = tuple(wire.label for wire in wires)
    return proved(
        "sata-15 sata-15 sata-15",
        (DRIVE_PORT,),
        wires,
        caps=("satad-through", "satad-through", "satad-end"),
        tap_marks=(TapMark(0, 108, labels), TapMark(1, 208, labels), TapMark(2, 308, labels)),
    )


def mixed_chain() -> Proved:
    """A SATA plug on wires that run on into a crimped peripheral plug, which feeds a second SATA plug by wires anew.

    +12V COM +5V COM in the SATA plugs, +12V COM COM +5V in the other one.
    """
    nets = (("1", "+12V", "1"), ("2", "COM", "2"), ("3", "+5V", "4"), ("4", "COM", "3"))
    first = [
        hand_wire(
            f"1-0{to}", net, end(0, to, "p42-socket-18"), end(0, to, "satad-blade"),
            end(1, middle, "p508-socket", f"1c-0{to}"),
        )
        for to, net, middle in nets
    ]  # fmt: skip
    second = [
        hand_wire(
            f"1c-0{to}", net, end(1, middle, "p508-socket", f"1-0{to}"), end(2, to, "satad-blade"), at_end=True
        )
        for to, net, middle in nets
    ]  # fmt: skip
    return proved(
        "sata-15 peripheral-4 sata-15",
        (DRIVE_PORT,),
        (*first, *second),
        caps=("satad-through", "", "satad-end"),
        tap_marks=(TapMark(0, 208, tuple(wire.label for wire in first)),),
    )


FORK_PORT = port("a", "p42-8c-plug", ["cpu"], ["+12V"] * 4 + ["COM"] * 4)


def fork() -> Proved:
    """Two CPU inlets, COM in 1 and 2 and +12V in 3 and 4, each by four wires straight from one port of eight."""
    places = (("1", "COM", "5"), ("2", "COM", "6"), ("3", "+12V", "1"), ("4", "+12V", "2"))
    wires = [straight_wire(f"1-0{to}", net, source, to) for to, net, source in places]
    other = {"5": "7", "6": "8", "1": "3", "2": "4"}
    wires += [
        hand_wire(f"1b-0{to}", net, end(0, other[source], "p42-socket-18"), end(1, to, "p42-socket-18"))
        for to, net, source in places
    ]
    return proved("cpu-4 cpu-4", (FORK_PORT,), tuple(wires), branching="fork")


def reworked() -> Proved:
    """The supply's own wires keep their source contacts and get new ones at the part."""
    wires = tuple(replace(w, source=replace(w.source, contact="", crimped=False)) for w in cpu_wires())
    return proved("cpu-4", (CPU_PORT,), wires, method="rework")


def extended() -> Proved:
    """A mating half on the supply's own cable, cavity to cavity."""
    nets = {"1": "COM", "2": "COM", "3": "+12V", "4": "+12V"}
    wires = tuple(straight_wire(f"1-0{cavity}", net, cavity, cavity, "p42-pin-18") for cavity, net in nets.items())
    return proved("cpu-4", (CPU_PORT,), wires, method="extension")


GOOD = {
    "four wires": four_wires,
    "a sense line": with_sense_line,
    "a double": with_double,
    "a splice": with_splice,
    "a jumper": with_jumper,
    "a crimped chain": crimped_chain,
    "a chain of wires that run through": through_chain,
    "a chain of pressed and crimped plugs": mixed_chain,
    "a fork": fork,
    "a reworked cable": reworked,
    "an extension": extended,
}
