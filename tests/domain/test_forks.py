"""Forks: several part plugs solved together, each wired straight from the sources; and chains of mixed plugs.

Expected values: hand-worked cases, brute force over one wide plug whose geometry is that of the small ones side by
side, and the independent proof over random runs.
"""

from collections import Counter
from dataclasses import replace
from itertools import permutations
from random import Random

import pytest

from server.domain.lengths import reach
from server.domain.model.build import SUPPLY, Build, Forbidden, Part, Pinned, PlugRef, Route, Run, SharedChoice, Socket
from server.domain.model.catalogue import Catalogue, Pin, Pinout, Port
from server.domain.model.plan import RunPlan
from server.domain.plan import plan
from server.domain.plan.compare import forbid_costs
from server.domain.plan.forks import fork_of, fork_plugs, fork_shortages
from server.domain.plan.paths import overdrawn
from server.domain.plan.resolve import ResolvedRun, resolve
from server.domain.plan.wires import wires_of
from server.domain.plugs import source_plug
from server.domain.proof import TOLD_AS_FINDINGS, faults
from server.domain.sockets import every_socket
from server.domain.wiring import Demand, PartPlug, Shortage, SourcePlug, assign
from tests.domain.brute_wiring import cheapest
from tests.domain.random_pairs import forks, mixed_chain
from tests.domain.scenes import INVENTED, codes, housing, layout, numbered, port, with_layout

EIGHT = ["+12V"] * 4 + ["COM"] * 4


def forked(
    catalogue: Catalogue, inlets: list[str], ports: list[Port], branching: str = "fork"
) -> tuple[Build, Catalogue]:
    """A measured run from these ports to one part for each inlet."""
    known = with_layout(catalogue, layout(*ports))
    ends = tuple(PlugRef(f"p{i + 1}", "in") for i in range(len(inlets)))
    gaps = (100.0,) * (len(ends) - 1) if branching == "chain" else ()
    build = Build(
        "Fork",
        supply="test",
        parts=tuple(
            Part(f"p{i + 1}", "other", f"Part {i + 1}", (Socket("in", name),)) for i, name in enumerate(inlets)
        ),
        runs=(
            Run(
                "r1",
                1,
                tuple(PlugRef(SUPPLY, p.id) for p in ports),
                ends,
                route=Route(length_mm=400.0, spacing_mm=gaps),
                branching=branching,  # type: ignore[arg-type]
            ),
        ),
        next_number=2,
        next_part=len(ends) + 1,
    )
    return build, known


def looked_up(build: Build, known: Catalogue) -> tuple[tuple[SourcePlug, ...], ResolvedRun]:
    resolved = resolve(build.runs[0], build, known, every_socket(build, known))
    assert resolved is not None
    return tuple(source_plug(plug.facts) for plug in resolved.sources), resolved


def planned(build: Build, known: Catalogue) -> RunPlan:
    return plan(build, known).runs[0]


def with_run(build: Build, **changed: object) -> Build:
    return replace(build, runs=(replace(build.runs[0], **changed),))  # type: ignore[arg-type]


def ends_of(run: RunPlan) -> dict[tuple[int, str], tuple[int, str]]:
    """Source contact by part contact."""
    return {(w.target.plug, w.target.cavity): (w.source.plug, w.source.cavity) for w in run.wires}


def two_cpus(catalogue: Catalogue, nets: list[str] = EIGHT) -> tuple[Build, Catalogue]:
    return forked(catalogue, ["cpu-4", "cpu-4"], [port("a", "p42-8c-plug", ["cpu"], nets)])


# ---- by hand --------------------------------------------------------------------------------------------------------


def test_two_small_plugs_take_the_halves_of_a_port_without_a_crossing(catalogue: Catalogue) -> None:
    # By hand: the port has +12V in 1 to 4 (lower row, from the right) and COM in 5 to 8 (upper row). Each 4-position
    # plug has COM in 1 and 2 (lower row, from the right), +12V in 3 and 4 (upper row). Turned over, the port shows its
    # columns from left to right as 8/4, 7/3, 6/2, 5/1 with +12V above, as both plugs want it: nothing crosses, nothing
    # is shifted, no wire changes its row.
    run = planned(*two_cpus(catalogue))
    assert ends_of(run) == {
        (0, "2"): (0, "8"), (0, "4"): (0, "4"), (0, "1"): (0, "7"), (0, "3"): (0, "3"),
        (1, "2"): (0, "6"), (1, "4"): (0, "2"), (1, "1"): (0, "5"), (1, "3"): (0, "1"),
    }  # fmt: skip
    assert (run.kind, run.crossings, run.doubles, run.sources[0].latch_down) == ("fork", 0, 0, True)


def test_every_wire_of_a_fork_starts_at_a_source(catalogue: Catalogue) -> None:
    run = planned(*two_cpus(catalogue))
    assert [(w.source_at_end, w.taps) for w in run.wires] == [(False, ())] * 8


def test_the_plugs_of_a_fork_share_the_contacts_of_a_port_between_them(catalogue: Catalogue) -> None:
    # By hand: three COM and three +12V contacts for four wires each: one contact of each net holds two.
    run = planned(*two_cpus(catalogue, ["+12V"] * 3 + [""] + ["COM"] * 3 + [""]))
    held = Counter(ends_of(run).values())
    assert (run.doubles, sorted(held.values())) == (2, [1, 1, 1, 1, 2, 2])


def test_plugs_of_different_pitch_lie_side_by_side_each_with_its_own(catalogue: Catalogue) -> None:
    # By hand: 2 columns of 4.2 mm and 4 of 5.08 mm are 28.72 mm, half of it 14.36. Columns of the first plug at
    # -14.36 + 2.1 = -12.26 and -8.06; of the second at -14.36 + 8.4 + 2.54 = -3.42, 1.66, 6.74 and 11.82.
    build, known = forked(
        catalogue, ["cpu-4", "peripheral-4"], [port("a", "p42-10-plug", ["cpu"], ["+12V", "+5V", "COM"] * 3 + [""])]
    )
    plug, places = fork_plugs(looked_up(build, known)[1])
    by_place = {places[name]: x for name, x, _ in plug.places}
    assert by_place == {
        (0, "2"): -1226, (0, "4"): -1226, (0, "1"): -806, (0, "3"): -806,
        (1, "1"): -342, (1, "2"): 166, (1, "3"): 674, (1, "4"): 1182,
    }  # fmt: skip


def test_the_plugs_of_a_fork_change_places_where_that_saves_crossings(catalogue: Catalogue) -> None:
    # By hand: a single row, latch up, shows its cavities mirrored: 4 3 2 1 from the left; turned over 1 2 3 4. With
    # +12V left of COM in one way, the same way that puts +12V left must have the +12V plug left. Only the plug with COM
    # was entered first, so either latch crosses unless the plugs change places or the port is turned over; the second
    # port, beside it, carries the other pair the same way round and ties both down by pins.
    left, right = one_net(catalogue, "only-12", "+12V"), one_net(catalogue, "only-com", "COM")
    known = replace(catalogue, pinouts={**catalogue.pinouts, left.id: left, right.id: right})
    build, known = forked(
        known, ["only-com", "only-12"], [port("a", "p508-4-plug", ["cpu"], ["+12V"] * 2 + ["COM"] * 2)]
    )
    sources, resolved = looked_up(build, known)
    # As entered, COM lies left; of the port's two faces one has COM left as well: no crossing, and no need to change.
    assert (fork_of(sources, resolved).order, fork_of(sources, resolved).assignment.cost.crossings) == ((0, 1), 0)
    # Three plugs +12V, COM, +5V from a port of +12V +5V COM: by hand only +12V +5V COM or its mirror image is straight.
    middle = one_net(known, "only-5", "+5V")
    known = replace(known, pinouts={**known.pinouts, middle.id: middle})
    nets = ["+12V", "+12V", "+5V", "+5V", "COM", "COM"]
    single = replace(known.housings["p508-4-plug"], id="row-6", positions=6, columns=6)
    known = replace(known, housings={**known.housings, "row-6": single})
    build, known = forked(known, ["only-12", "only-com", "only-5"], [port("a", "row-6", ["cpu"], nets)])
    sources, resolved = looked_up(build, known)
    best = fork_of(sources, resolved)
    assert (best.order in ((0, 2, 1), (1, 2, 0)), best.assignment.cost.crossings) == (True, 0)
    assert planned(build, known).crossings == 0


def one_net(catalogue: Catalogue, name: str, net: str) -> Pinout:
    """A single-row inlet of two cavities that take one net."""
    assert catalogue.housings["h254-pair-plug"].positions == 2
    pins = tuple(Pin(c, net, net, (net,), "required", True, "", "", INVENTED) for c in ("1", "2"))
    return Pinout(name, name, "inlet", "cpu", "h254-pair-plug", True, {}, 0.0, 0.0, INVENTED, pins)


def test_plugs_that_are_alike_stay_as_they_were_entered(catalogue: Catalogue) -> None:
    sources, resolved = looked_up(*two_cpus(catalogue))
    assert fork_of(sources, resolved).order == (0, 1)


def test_a_fork_falls_short_where_its_plugs_together_want_too_much(catalogue: Catalogue) -> None:
    # By hand: one COM contact holds two wires, enough for either plug alone, and four are wanted.
    build, known = two_cpus(catalogue, ["+12V"] * 4 + ["COM", "", "", ""])
    sources, resolved = looked_up(build, known)
    assert fork_shortages(sources, resolved) == (Shortage("COM", 4, 1),)
    assert planned(build, known).wires == ()


def test_a_pin_holds_for_the_first_plug_of_a_fork_and_for_no_other(catalogue: Catalogue) -> None:
    build, known = two_cpus(catalogue)
    pins = Pinned("1", SUPPLY, "a", "5"), Pinned("2", SUPPLY, "a", "8")
    run = planned(with_run(build, pins=pins), known)
    assert (ends_of(run)[0, "1"], ends_of(run)[0, "2"]) == ((0, "5"), (0, "8"))
    # By hand: COM lies in the columns 8 7 6 5 of the port turned over, and cavities 2 and 1 of the first plug are
    # neighbours. With that plug left, 8 is straight and 5 goes past 7 and 6 and one +12V wire: three crossings; with it
    # right, or the port the other way up, no fewer. Either pin alone costs nothing.
    assert (run.crossings, run.doubles) == (3, 0)
    assert [(c.cavity, c.source_cavity, c.doubles, c.crossings) for c in run.pin_costs] == [
        ("1", "5", 0, 3),
        ("2", "8", 0, 3),
    ]


def test_a_pin_may_make_the_plugs_of_a_fork_change_places_at_no_cost(catalogue: Catalogue) -> None:
    # By hand: 5 is the last column of the port, and cavity 1 of the plug that lies right the last of the ribbon.
    build, known = two_cpus(catalogue)
    run = planned(with_run(build, pins=(Pinned("1", SUPPLY, "a", "5"),)), known)
    assert (ends_of(run)[0, "1"], run.crossings, run.wires[0].target.plug) == ((0, "5"), 0, 1)


def test_a_pin_that_cannot_hold_is_left_out_of_a_fork(catalogue: Catalogue) -> None:
    build, known = two_cpus(catalogue)
    sources, resolved = looked_up(with_run(build, pins=(Pinned("1", SUPPLY, "a", "1"),)), known)
    fork = fork_of(sources, resolved)
    found, places = fork.assignment, fork.places
    assert {link.source_cavity for link in found.links if places[link.cavity] == (0, "1")} == {"7"}


def test_a_forbidden_cavity_tells_what_it_costs(catalogue: Catalogue) -> None:
    # By hand: four COM contacts for four wires; with one forbidden, two wires share one: one double more.
    build, known = two_cpus(catalogue)
    build = with_run(build, forbidden=(Forbidden(SUPPLY, "a", "8"),))
    _, resolved = looked_up(build, known)
    made = wires_of(resolved, build, known, reach(resolved.run.route, segments=0))
    assert [(c.socket, c.cavity, c.doubles) for c in forbid_costs(resolved, made)] == [("a", "8", 1)]


def test_a_forbidden_cavity_of_a_single_plug_tells_what_it_costs(catalogue: Catalogue) -> None:
    # By hand: two COM contacts for two wires; with one forbidden both share the other. A ban on an idle cavity costs
    # nothing and is not told.
    port_of_six = port("a", "p42-6-plug", ["cpu"], ["+12V", "+12V", "COM", "COM", "", ""])
    build, known = forked(catalogue, ["cpu-4"], [port_of_six], "chain")
    build = with_run(build, forbidden=(Forbidden(SUPPLY, "a", "4"), Forbidden(SUPPLY, "a", "6")))
    _, resolved = looked_up(build, known)
    made = wires_of(resolved, build, known, reach(resolved.run.route, segments=0))
    assert [(c.cavity, c.doubles) for c in forbid_costs(resolved, made)] == [("4", 1)]


def test_each_plug_of_a_fork_has_optional_cavities_of_its_own(catalogue: Catalogue) -> None:
    # By hand: 5 is optional in the SATA plug (+3.3V), and plainly wanted (COM) in the 6-position graphics plug.
    nets = ["+12V", "+12V", "+12V", "+5V", "+3.3V", "COM", "COM", "COM", "COM", "COM"]
    build, known = forked(catalogue, ["graphics-6", "sata-15"], [port("a", "p42-10-plug", ["drive"], nets)])
    for optional, fed in (((), 4), (("5",), 5)):
        run = planned(with_run(build, optional=optional), known)
        assert sum(w.target.plug == 1 for w in run.wires) == fed


def test_the_plain_wiring_of_a_fork_goes_plug_after_plug(catalogue: Catalogue) -> None:
    # By hand: cavities 1 to 4 of the first plug, then of the second, each from the first free contact of its net.
    run = planned(*two_cpus(catalogue))
    assert run.plain is not None
    met = {(end, link[2]): link[1] for link, end in zip(run.plain.links, run.plain.ends, strict=True)}
    assert met == {
        (0, "1"): "5", (0, "2"): "6", (0, "3"): "1", (0, "4"): "2",
        (1, "1"): "7", (1, "2"): "8", (1, "3"): "3", (1, "4"): "4",
    }  # fmt: skip


# ---- brute force ----------------------------------------------------------------------------------------------------


def small_inlet(name: str, rng: Random, sizes: tuple[int, ...]) -> Pinout:
    """An inlet of two rows with nets at random, some of them without load."""
    positions = rng.choice(sizes)
    pins = []
    for cavity in range(1, positions + 1):
        net = rng.choice(("+12V", "COM", "+5V"))
        need = "required" if rng.random() < 0.6 or cavity == 1 else "not_connected"
        pins.append(Pin(str(cavity), net, net, (net,), need, rng.random() < 0.8, "", "", INVENTED))  # type: ignore[arg-type]
    return Pinout(name, name, "inlet", "cpu", f"p42-{positions}-plug", True, {}, 0.0, 0.0, INVENTED, tuple(pins))


def wide_plug(inlets: list[Pinout], order: tuple[int, ...]) -> PartPlug:
    """One two-row plug of 4.2 mm pitch whose cavities lie where those of the small ones lie side by side.

    Cavities of each row are numbered from the right, the lower row first.
    """
    columns = sum(len(inlet.pins) // 2 for inlet in inlets)
    before, demands = 0, []
    for i in order:
        own = len(inlets[i].pins) // 2
        for pin in inlets[i].pins:
            number = int(pin.cavity) - 1
            column = before + own - 1 - number % own
            wide = columns - column + (columns if number >= own else 0)
            if pin.need == "required":
                demands.append(Demand(str(wide), pin.accepts, pin.carries_current))
        before += own
    return PartPlug(housing(2 * columns), tuple(demands), 4.2)


@pytest.mark.parametrize("seed", range(24))
def test_a_small_fork_costs_no_more_than_any_way_to_wire_it(seed: int, catalogue: Catalogue) -> None:
    rng = Random(seed)
    inlets = [small_inlet(f"in{i}", rng, (4, 6) if seed % 2 else (4,)) for i in range(2 if seed % 4 else 3)]
    nets = [net for inlet in inlets for pin in inlet.pins if pin.need == "required" for net in pin.accepts]
    kept = [net for i, net in enumerate(nets) if net not in nets[:i] or rng.random() < 0.7]
    for net in set(nets):
        while 2 * kept.count(net) < nets.count(net):
            kept.append(net)
    rng.shuffle(kept)
    kept += [""] * (18 - len(kept))
    known = replace(catalogue, pinouts={**catalogue.pinouts, **{inlet.id: inlet for inlet in inlets}})
    build, known = forked(known, [inlet.id for inlet in inlets], [port("a", "p42-18-plug", ["cpu"], kept)])
    sources, resolved = looked_up(build, known)
    best = min(cheapest(sources, wide_plug(inlets, order)) for order in permutations(range(len(inlets))))
    assert tuple(fork_of(sources, resolved).assignment.cost)[:4] == best


# ---- the proof over random runs -------------------------------------------------------------------------------------


def test_whatever_the_plugs_a_fork_is_proved(catalogue: Catalogue) -> None:
    # A hundred forks of two or three plugs; a run without wires would prove nothing, so they are counted.
    spoiled, wired = [], 0
    for build, known in forks(catalogue, 100, 7):
        made = plan(build, known)
        wired += bool(made.runs[0].wires)
        spoiled += [f for f in faults(made, build, known) if f.rule not in TOLD_AS_FINDINGS]
    assert (spoiled, wired) == ([], 100)


def test_whatever_the_builder_chooses_a_fork_is_proved(catalogue: Catalogue) -> None:
    rng = Random(5)
    spoiled, wired = [], 0
    for build, known in forks(catalogue, 30, 8):
        plain = planned(build, known)
        first = [w for w in plain.wires if not w.target.plug and w.net in plain.sources[w.source.plug].nets.values()]
        pins = tuple(
            Pinned(w.target.cavity, ref.part, ref.socket, rng.choice(sorted(plain.sources[w.source.plug].nets)))
            for w in first
            if rng.random() < 0.3
            for ref in [plain.sources[w.source.plug].ref]
        )
        shared = tuple(
            SharedChoice(p.ref.part, p.ref.socket, cavity, rng.choice(("as_is", "thinner", "jumper", "splice")))
            for p in plain.sources
            for cavity in p.nets
            if rng.random() < 0.7
        )
        changed = with_run(build, pins=pins, shared=shared)
        made = plan(changed, known)
        wired += bool(made.runs[0].wires)
        spoiled += [f for f in faults(made, changed, known) if f.rule not in TOLD_AS_FINDINGS]
    assert (spoiled, wired) == ([], 30)


# ---- chains of pressed and crimped plugs ----------------------------------------------------------------------------


def drives(catalogue: Catalogue, *inlets: str) -> tuple[Build, Catalogue]:
    nets = ["+12V", "COM", "+5V", "COM", "", ""]
    return forked(catalogue, list(inlets), [port("a", "p42-6-plug", ["drive"], nets)], "chain")


def test_a_wire_runs_through_pressed_plugs_and_ends_in_the_crimped_one(catalogue: Catalogue) -> None:
    run = planned(*drives(catalogue, "sata-15", "sata-15", "peripheral-4"))
    found = {([t.plug for t in w.taps], w.target.plug, w.source_at_end) == ([0, 1], 2, False) for w in run.wires}
    assert (len(run.wires), found) == (4, {True})


def test_behind_a_crimped_plug_a_new_wire_begins(catalogue: Catalogue) -> None:
    run = planned(*drives(catalogue, "sata-15", "peripheral-4", "sata-15", "sata-15"))
    found = Counter((w.source_at_end, w.source.plug, tuple(t.plug for t in w.taps), w.target.plug) for w in run.wires)
    assert found == {(False, 0, (0,), 1): 4, (True, 1, (2,), 3): 4}


def test_caps_of_a_mixed_chain_belong_to_the_pressed_plugs_alone(catalogue: Catalogue) -> None:
    run = planned(*drives(catalogue, "sata-15", "peripheral-4", "sata-15"))
    assert [plug.cap for plug in run.ends] == ["satad-through", "", "satad-end"]


def test_a_wire_ends_at_a_pressed_plug_when_the_later_ones_do_not_want_its_net(catalogue: Catalogue) -> None:
    # By hand: +3.3V, optional in 5, is asked for; the crimped peripheral plug at the end has no +3.3V.
    nets = ["+12V", "COM", "+5V", "COM", "+3.3V", ""]
    build, known = forked(catalogue, ["sata-15", "peripheral-4"], [port("a", "p42-6-plug", ["drive"], nets)], "chain")
    run = planned(with_run(build, optional=("5",)), known)
    assert {w.net: w.target.plug for w in run.wires} == {"+12V": 1, "COM": 1, "+5V": 1, "+3.3V": 0}
    assert run.proved


@pytest.mark.parametrize("lot", range(4))
def test_whatever_the_order_of_pressed_and_crimped_plugs_the_chain_is_proved(lot: int, catalogue: Catalogue) -> None:
    spoiled, wired = [], 0
    for seed in range(50 * lot, 50 * lot + 50):
        build, known = mixed_chain(catalogue, seed)
        made = plan(build, known)
        wired += bool(made.runs[0].wires)
        spoiled += [f for f in faults(made, build, known) if f.rule not in TOLD_AS_FINDINGS]
    assert (spoiled, wired) == ([], 50)


def test_a_plug_of_a_chain_cannot_pass_one_contact_on_twice() -> None:
    # By hand: the contact holds the wire that feeds it and one wire onward; two wires onward would make three.
    giver = SourcePlug(housing(4), numbered(["COM", "+12V", "", ""]), 4.2)
    part = PartPlug(housing(4), (Demand("1", ("COM",)), Demand("2", ("COM",)), Demand("3", ("+12V",))), 4.2)
    assert overdrawn(assign((giver,), part)) == (Shortage("COM", 2, 1),)


def test_a_chain_whose_plug_cannot_pass_enough_on_says_so(catalogue: Catalogue) -> None:
    one = one_net(catalogue, "one", "COM")
    one = replace(one, pins=(one.pins[0], replace(one.pins[1], need="not_connected")))
    two = one_net(catalogue, "two", "COM")
    known = replace(catalogue, pinouts={**catalogue.pinouts, "one": one, "two": two})
    build, known = forked(known, ["one", "two"], [port("a", "p42-4-plug", ["cpu"], ["COM"] * 4)], "chain")
    made = plan(build, known)
    assert (made.runs[0].wires, any(severity == "stop" for severity, _ in codes(made, 1))) == ((), True)
