"""Hand-built scenes for the drawings: a small catalogue, runs and plans, without planner or files."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from server.domain.housings import cavities
from server.domain.model.build import SUPPLY, PlugRef
from server.domain.model.catalogue import Cap, Catalogue, Colour, Comb, Family, Housing, Pinout, Shrink
from server.domain.model.plan import (
    CombPlace,
    Estimate,
    LengthTerm,
    Plan,
    PlannedWire,
    Plug,
    PortUse,
    RunPlan,
    SleevePiece,
    Summary,
    TapMark,
    Unfed,
    WireEnd,
)

SOURCE = "invented for a test"
HEX = {
    "BK": "#1b1b1d", "BN": "#6f4426", "RD": "#c4232b", "OG": "#e2761b", "YE": "#eccb23", "GN": "#2c8a45",
    "BU": "#2359b8", "VT": "#7a3f9d", "GY": "#858a90", "WH": "#f4f4f0", "PK": "#e58fae", "TQ": "#2fa7a3",
}  # fmt: skip


def housing(id_: str, family: str, positions: int, rows: int, *, numbering: str, latch: str = "top") -> Housing:
    columns = 6 if numbering == "twelve_plus_four" else positions // rows
    return Housing(
        id_, family, f"{positions}-position plug", "plug", "socket", positions, rows, columns, numbering,  # type: ignore[arg-type]
        latch, "square and chamfered cavities", "", SOURCE,  # type: ignore[arg-type]
    )  # fmt: skip


def catalogue() -> Catalogue:
    families = (
        Family("p42", "4.2 mm two-row power", 4.2, 4.2, "crimp", 8.0, "two-prong", SOURCE),
        Family("p30", "3.0 mm 12+4", 3.0, 3.0, "crimp", 6.0, "two-prong", SOURCE),
        Family("satad", "drive power, insulation displacement", 3.81, 0.0, "displacement", 0.0, "", SOURCE),
        Family("h254", "2.54 mm headers", 2.54, 2.54, "crimp", 9.0, "blade", SOURCE),
    )
    housings = [housing(f"p42-{n}", "p42", n, 2, numbering="two_row") for n in (4, 6, 8, 10, 18, 24)]
    housings += [
        housing("p30-16", "p30", 16, 2, numbering="twelve_plus_four"),
        housing("satad-5", "satad", 5, 1, numbering="single_row", latch="none"),
        housing("h254-4", "h254", 4, 1, numbering="single_row"),
        housing("h254-10", "h254", 10, 2, numbering="odd_even", latch="none"),
    ]
    pinout = Pinout("cpu-8", "CPU power, 8 positions", "inlet", "cpu", "p42-8", True, {}, 0.0, 0.0, SOURCE, ())
    return Catalogue(
        version="1", families={f.id: f for f in families}, contacts={}, crimps=(), ratings=(),
        housings={h.id: h for h in housings}, pinouts={pinout.id: pinout}, supplies={}, wires={},
        colours={code: Colour(code, code.lower(), value, ("plain",), True, SOURCE) for code, value in HEX.items()},
        sleeves={}, shrinks={"small": Shrink("small", "small heat-shrink", 3.2, 1.6, 0.5, 10, 10.0, SOURCE)},
        combs={"comb-4": Comb("comb-4", "comb, 4 ways", 4, 2, 2, "closed", SOURCE),
               "comb-8": Comb("comb-8", "comb, 8 ways", 8, 2, 4, "closed", SOURCE),
               "comb-24": Comb("comb-24", "comb, 24 ways", 24, 2, 12, "closed", SOURCE),
               "open-8": Comb("open-8", "open comb, 8 ways", 8, 2, 4, "open", SOURCE)},
        caps={"through": Cap("through", "wires pass through", "satad", "through", SOURCE),
              "end": Cap("end", "wires end", "satad", "end", SOURCE)},
        shapes={}, packs=(), labour={},
    )  # fmt: skip


def plug(
    ref: tuple[str, str], place: str, label: str, housing_id: str, nets: Mapping[str, str], *,
    down: bool = False, cap: str = "", functions: Mapping[str, str] | None = None,
) -> Plug:  # fmt: skip
    return Plug(
        PlugRef(*ref), place, label, housing_id, ref[0] == SUPPLY, down, dict(nets),
        dict(functions or nets), cap,
    )  # fmt: skip


def wire(
    label: str, source: tuple[int, str], target: tuple[int, str], net: str, colour: str, *, sleeve: str = "",
    taps: Sequence[tuple[int, str]] = (), source_at_end: bool = False, shared: tuple[str, ...] = (),
) -> PlannedWire:  # fmt: skip
    return PlannedWire(
        f"id-{label}", label, WireEnd(*source, "contact", shared), WireEnd(*target, "contact"),
        source_at_end, tuple(WireEnd(p, c, "blade") for p, c in taps), net, net, 18, "plain", colour, sleeve,
        500.0, (LengthTerm("route", 500.0, SOURCE), LengthTerm("into the housings", 26.0, SOURCE)), 530, 530,
    )  # fmt: skip


def run(
    number: int, sources: Sequence[Plug], ends: Sequence[Plug], wires: Sequence[PlannedWire], **more: object
) -> RunPlan:
    plain = RunPlan(
        f"run-{number}", number, "", "cpu", "wired", "measured", 540.0, None, None, (), tuple(sources), tuple(ends),
        tuple(wires), 0, 0, (), (), (), "shrink", "", 0, 0, (),
    )  # fmt: skip
    return replace(plain, **more)  # type: ignore[arg-type]


def combs(comb: str, wires: int, *at_mm: int, plug: int = 0) -> tuple[CombPlace, ...]:
    """Combs of one size, as many as there are places."""
    return tuple(CombPlace(comb, at, plug, wires) for at in at_mm)


CPU = {"1": "COM", "2": "COM", "3": "COM", "4": "COM", "5": "+12V", "6": "+12V", "7": "+12V", "8": "+12V"}
MAIN_ORDER = (
    "+3.3V +3.3V COM +5V COM +5V COM PWR_OK +5VSB +12V +12V +3.3V "
    "+3.3V -12V COM PS_ON# COM COM COM none +5V +5V +5V COM"
)
MAIN = {str(i): net for i, net in enumerate(MAIN_ORDER.split(), start=1)} | {"20": ""}
BY_NET = {
    "COM": "BK", "+12V": "YE", "+5V": "RD", "+3.3V": "OG", "-12V": "BU", "PS_ON#": "GN", "PWR_OK": "GY",
    "+5VSB": "VT", "+3.3V_SENSE": "BN", "SENSE0": "WH",
}  # fmt: skip


def straight_cpu(number: int = 3, *, down: bool = True, **more: object) -> RunPlan:
    """Eight wires straight across, the supply plug with its latch down so that nothing crosses."""
    order = ["8", "4", "7", "3", "6", "2", "5", "1"]
    opposite = dict(zip(order, ["5", "1", "6", "2", "7", "3", "8", "4"], strict=True))
    wires = [
        wire(f"{number}-{c}", (0, opposite[c] if not down else c), (0, c), CPU[c], BY_NET[CPU[c]], sleeve="TQ")
        for c in order
    ]
    source = plug((SUPPLY, f"C{number}"), "split main", f"C{number} CPU 8", "p42-8", CPU, down=down)
    return run(number, [source], [plug(("board", f"cpu{number}"), "Board", "CPU 8", "p42-8", CPU)], wires, **more)


def main_run(number: int = 1, **more: object) -> RunPlan:
    """A 24 from an 18 and a 10, with one sense line doubled into cavity 13 and a live position left open."""
    cells = sorted(cavities(catalogue().housings["p42-24"]), key=lambda c: (c.column, c.row))
    wired = [c.name for c in cells if MAIN[c.name]]
    a, b = wired[:9] + wired[14:20], wired[9:14] + wired[20:]
    a_nets = {str(i + 1): MAIN[c] for i, c in enumerate(a)} | {"16": "+3.3V_SENSE", "17": "+12V", "18": ""}
    b_nets = {str(i + 1): MAIN[c] for i, c in enumerate(b)} | {str(i): "" for i in range(len(b) + 1, 11)}
    wires = [
        wire(
            f"{number}-{int(c):02}",
            (0, str(a.index(c) + 1)) if c in a else (1, str(b.index(c) + 1)),
            (0, c), MAIN[c], BY_NET[MAIN[c]],
        )
        for c in wired
    ]  # fmt: skip
    at = next(i for i, w in enumerate(wires) if w.target.cavity == "13")
    wires.insert(at, wire(f"{number}-13S", (0, "16"), (0, "13"), "+3.3V_SENSE", "BN"))
    sources = [
        plug((SUPPLY, "M1"), "split main", "M1 main 18", "p42-18", a_nets, functions={}),
        plug((SUPPLY, "M2"), "split main", "M2 main 10", "p42-10", b_nets, functions={}),
    ]
    end = plug(("board", "main"), "Board", "Main 24", "p42-24", MAIN, functions=MAIN | {"20": "reserved"})
    more = {"combs": combs("comb-24", 24, 40, 160, 280, 400), "use": "main"} | more
    return run(number, sources, [end], wires, length_mm=612.0, doubles=1, **more)


def sleeved_run(number: int = 3) -> RunPlan:
    """The straight cable with a piece of sleeve on each wire, cut 700 or 720 mm, under heat-shrink at both ends."""
    plain = straight_cpu(number)
    wires = tuple(replace(w, sleeve_mm=(700 + 20 * (i % 2),)) for i, w in enumerate(plain.wires))
    pieces = tuple(SleevePiece("small", "TQ", cut, 540.0, 4) for cut in (700, 720))
    return replace(plain, wires=wires, sleeve_pieces=pieces, sleeve_end="shrink", shrink="small", shrink_count=16,
                   shrink_cut_mm=14)  # fmt: skip


def sleeved_chain(number: int = 6) -> RunPlan:
    """Three drives on sleeved wires: a long piece to the first, short ones between the plugs."""
    plain = tapped_run(number, 3)
    wires = tuple(replace(w, sleeve_colour="TQ", sleeve_mm=(470, 110, 110)) for w in plain.wires)
    pieces = (SleevePiece("small", "TQ", 470, 380.0, 5), SleevePiece("small", "TQ", 110, 95.0, 10))
    return replace(plain, wires=wires, sleeve_pieces=pieces, sleeve_end="shrink", shrink="small", shrink_count=30,
                   shrink_cut_mm=14)  # fmt: skip


DRIVE = {"1": "+3.3V", "2": "COM", "3": "+5V", "4": "COM", "5": "+12V"}


def chain_run(number: int = 6, plugs: int = 4, **more: object) -> RunPlan:
    """Drives on one ribbon: each wire is one piece that runs through every plug."""
    nets = {"1": "+3.3V", "2": "COM", "3": "+5V", "4": "COM", "5": "+12V", "6": "+12V"}
    source = plug((SUPPLY, f"P{number}"), "split main", f"P{number} peripheral 6", "p42-6", nets)
    ends = [
        plug((f"drive{number}-{i}", "power"), f"Drive {number}.{i + 1}", "drive power", "satad-5", DRIVE,
             cap="end" if i == plugs - 1 else "through")
        for i in range(plugs)
    ]  # fmt: skip
    wires = [
        wire(
            f"{number}-{c}", (0, c), (plugs - 1, c), DRIVE[c], BY_NET[DRIVE[c]], taps=[(i, c) for i in range(plugs - 1)]
        )
        for c in DRIVE
    ]
    more = {"spacing_mm": (95.0,) * (plugs - 1), "kind": "chain", "length_mm": 380.0, "use": "drive"} | more
    return run(number, [source], ends, wires, **more)


def tapped_run(number: int = 6, plugs: int = 4, **more: object) -> RunPlan:
    """The chain with its tap marks: 8 mm inside the first housing, then the route and the spacings."""
    plain = chain_run(number, plugs, **more)
    labels = tuple(wire.label for wire in plain.wires)
    marks = [TapMark(i, 8 + 380 + 95 * i, labels) for i in range(plugs)]
    return replace(plain, tap_marks=tuple(marks))


def thinning_run(number: int = 8) -> RunPlan:
    """A chain of crimped plugs: eight wires to the first, two of which go on to the second; a comb on each stretch."""
    nets = {"1": "COM", "2": "+12V", "3": "COM", "4": "+12V"}
    source = plug((SUPPLY, "W"), "split main", "W 8", "p42-8", CPU)
    ends = [plug(("w", "in"), "First", "power 4", "p42-4", nets), plug(("x", "in"), "Second", "power 4", "p42-4", nets)]
    fed = {"1": "1", "2": "5", "3": "2", "4": "6"}
    wires = [wire(f"{number}A-{c}", (0, fed[c]), (0, c), nets[c], BY_NET[nets[c]]) for c in nets]
    wires += [wire(f"{number}B-{c}", (0, c), (1, c), nets[c], BY_NET[nets[c]], source_at_end=True) for c in "12"]
    places = combs("comb-4", 4, 100, 200) + combs("comb-4", 2, 60, plug=1)
    return run(number, [source], ends, wires, kind="chain", spacing_mm=(120.0,), length_mm=420.0, use="drive",
               combs=places)  # fmt: skip


def fork_run(number: int = 5, tails: tuple[float | None, float | None] = (None, 120.0), **more: object) -> RunPlan:
    """One port of eight that feeds two plugs of four, the second 60 mm farther away; both by wires of their own."""
    nets = {"1": "COM", "2": "COM", "3": "+12V", "4": "+12V"}
    source = plug((SUPPLY, f"K{number}"), "split main", f"K{number} CPU 8", "p42-8", CPU)
    ends = [
        plug(("k", "in"), "Board", "CPU 4, left", "p42-4", nets),
        plug(("l", "in"), "Board", "CPU 4, right", "p42-4", nets),
    ]
    reach = (0.0, 60.0)
    ends = [
        replace(end, ref=replace(end.ref, tail_mm=tail, extra_mm=extra))
        for end, tail, extra in zip(ends, tails, reach, strict=True)
    ]
    fed = {(0, "1"): "1", (0, "2"): "2", (0, "3"): "5", (0, "4"): "6",
           (1, "1"): "3", (1, "2"): "4", (1, "3"): "7", (1, "4"): "8"}  # fmt: skip
    # The second plug lies on the left, so that it is drawn above the first.
    wires = [
        wire(f"{number}{'AB'[i]}-{c}", (0, fed[i, c]), (i, c), nets[c], BY_NET[nets[c]]) for i in (1, 0) for c in "3142"
    ]
    places = combs("comb-8", 8, 150, 250) + combs("comb-4", 4, 40) + combs("comb-4", 4, 60, plug=1)
    return run(number, [source], ends, wires, **({"kind": "fork", "length_mm": 560.0, "combs": places} | more))


def segment_run(number: int = 9) -> RunPlan:
    """Two crimped plugs in a chain: the second is fed from the first, whose contacts hold two wires each."""
    nets = {"1": "COM", "2": "COM", "3": "+12V", "4": "+12V"}
    source = plug((SUPPLY, "Q"), "split main", "Q 4", "p42-4", nets)
    ends = [plug(("a", "in"), "First", "power 4", "p42-4", nets), plug(("b", "in"), "Second", "power 4", "p42-4", nets)]
    wires = [wire(f"{number}A-{c}", (0, c), (0, c), nets[c], BY_NET[nets[c]]) for c in nets]
    wires += [wire(f"{number}B-{c}", (0, c), (1, c), nets[c], BY_NET[nets[c]], source_at_end=True) for c in nets]
    return run(number, [source], ends, wires, kind="chain", spacing_mm=(120.0,), use="drive")


def graphics_run(number: int = 4, **more: object) -> RunPlan:
    """A 12+4 from two eights; one sideband cavity is fed with COM."""
    order = [c.name for c in sorted(cavities(catalogue().housings["p30-16"]), key=lambda c: (c.column, c.row))]
    nets = {str(i): "+12V" if i <= 6 else "COM" for i in range(1, 13)}
    nets |= {"S1": "SENSE0", "S2": "SENSE1", "S3": "", "S4": "COM"}
    wanted = [c for c in order if nets[c] in ("+12V", "COM")]
    spare = {
        "+12V": [(0, c) for c in "5678"] + [(1, c) for c in "5678"],
        "COM": [(0, c) for c in "1234"] + [(1, c) for c in "1234"],
    }
    wires = [wire(f"{number}-{c}", spare[nets[c]].pop(0), (0, c), nets[c], BY_NET[nets[c]]) for c in wanted]
    sources = [plug((SUPPLY, f"G{number}{k}"), "split main", f"G{number}{k} graphics 8", "p42-8", CPU) for k in "ab"]
    end = plug(("gpu", f"in{number}"), "Graphics card", "graphics 12+4", "p30-16", nets,
               functions=nets | {"S3": "CARD_OK", "S4": "SENSE2"})  # fmt: skip
    return run(number, sources, [end], wires, **({"use": "graphics"} | more))


def fan_run(number: int = 7, place: str = "Fan, front", **more: object) -> RunPlan:
    """A fan on a board header, its length a range."""
    nets = {"1": "COM", "2": "+12V", "3": "TACH", "4": "PWM"}
    colours = {"1": "BK", "2": "YE", "3": "GN", "4": "BU"}
    source = plug(("board", f"fan{number}"), "Board", f"fan header {number}", "h254-4", nets)
    wires = [wire(f"{number}-{c}", (0, c), (0, c), nets[c], colours[c]) for c in nets]
    more = {"state": "range", "length_mm": None, "low_mm": 250.0, "high_mm": 420.0, "use": "fan"} | more
    return run(number, [source], [plug((f"fan-{number}", "lead"), place, "fan lead 4", "h254-4", nets)], wires, **more)


def plan(runs: Sequence[RunPlan], *, metered: bool = True, unfed: Sequence[Unfed] = (), free: int = 1) -> Plan:
    ports = [PortUse(p.ref.part, p.ref.socket, p.place, p.socket, p.housing, r.number) for r in runs for p in r.sources]
    ports += [PortUse(SUPPLY, f"F{i}", "split main", f"F{i} peripheral 6", "p42-6", None) for i in range(free)]
    nothing = Decimal(0)
    estimate = Estimate("EUR", nothing, (), nothing, nothing, nothing, nothing, nothing, nothing, False)
    count = sum(len(r.wires) for r in runs)
    waiting = sum(r.state != "measured" for r in runs)
    return Plan(
        "Kestrel", metered, tuple(runs), (), (), (), (), estimate, tuple(ports), tuple(unfed),
        (), (), (), nothing, Summary(len(runs), count, 0, waiting, 0, 0, 0, nothing, nothing, "EUR"), (),
    )  # fmt: skip


def small_build() -> list[RunPlan]:
    return [main_run(1), straight_cpu(2), straight_cpu(3), graphics_run(4), chain_run(6), fan_run(7)]


def large_build() -> list[RunPlan]:
    """Forty runs whose right-hand order differs from the left-hand one."""
    runs: list[RunPlan] = [main_run(1)]
    for number in range(2, 41):
        kind = number % 4
        if kind == 0:
            runs.append(chain_run(number, 3))
        elif kind == 1:
            runs.append(fan_run(number, f"Fan {number}"))
        else:
            runs.append(straight_cpu(number, length_mm=300.0 + 10 * number))
    return runs
