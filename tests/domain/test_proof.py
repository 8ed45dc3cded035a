"""The proof of a plan: silent about good plans, and naming the right rule for every way to spoil one.

Expected values: properties (what the planner makes is right whatever the layout), hand-written plans, and single
changes to good plans whose fault follows from the rule itself.
"""

import ast
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from random import Random

import pytest

from server.documents.build_json import read_build
from server.domain.model.build import SUPPLY, Forbidden, Pinned, PlugRef, SharedChoice
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Joint, PlannedWire, Plug, TapMark
from server.domain.plan import plan
from server.domain.proof import TOLD_AS_FINDINGS, Fault, faults
from tests.domain.hand_plans import (
    DRIVE_PORT,
    GOOD,
    Proved,
    crimped_chain,
    end,
    extended,
    fork,
    four_wires,
    hand_wire,
    mixed_chain,
    proved,
    reworked,
    through_chain,
    with_double,
    with_jumper,
    with_sense_line,
    with_splice,
)
from tests.domain.random_pairs import chain_with_sense_line, pairs, with_run
from tests.domain.scenes import EXAMPLES, ROOT, built, port, run_to, shipped_catalogue

PAIRS = 10_000
SEEDS = range(5)


def found(case: Proved) -> tuple[Fault, ...]:
    return faults(case.plan, case.build, case.catalogue)


def rules(case: Proved, label: str = "") -> set[str]:
    """Rules that a plan breaks, of one wire when its label is given."""
    return {fault.rule for fault in found(case) if not label or fault.wire == label}


def wrong(case: Proved) -> list[Fault]:
    """Faults beyond those of fit, which stand among the findings."""
    return [fault for fault in found(case) if fault.rule not in TOLD_AS_FINDINGS]


# ---- good plans -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GOOD)
def test_a_plan_made_by_hand_is_proved(name: str) -> None:
    assert found(GOOD[name]()) == ()


@pytest.mark.parametrize("name", ["compact", "large"])
def test_an_example_is_proved(name: str, catalogue: Catalogue) -> None:
    build = read_build((EXAMPLES / f"{name}.json").read_bytes())
    assert faults(plan(build, catalogue), build, catalogue) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_whatever_the_layout_and_the_inlet_the_plan_is_proved(seed: int, catalogue: Catalogue) -> None:
    # Ten thousand pairs in five lots; a run without wires (a net falls short) would prove nothing, so they are counted.
    spoiled, wired = [], 0
    for build, known in pairs(catalogue, PAIRS // len(SEEDS), seed):
        made = Proved(plan(build, known), build, known)
        wired += bool(made.run.wires)
        spoiled += [(build.parts[0].sockets[0].pinout, len(build.parts), fault) for fault in wrong(made)]
    assert (spoiled, wired) == ([], PAIRS // len(SEEDS))


def test_whatever_the_builder_chooses_the_plan_is_proved(catalogue: Catalogue) -> None:
    # Pins, forbidden cavities, remedies for shared contacts and all three methods, at random.
    rng = Random(11)
    spoiled, wired = [], 0
    for build, known in pairs(catalogue, 400, 12):
        first = plan(build, known).runs[0]
        chosen = with_run(
            build,
            pins=tuple(
                Pinned(wire.target.cavity, plug.ref.part, plug.ref.socket, _another(plug, wire, rng))
                for wire in first.wires
                if not wire.source_at_end and rng.random() < 0.2
                for plug in [first.sources[wire.source.plug]]
            ),
            forbidden=tuple(
                Forbidden(first.sources[index].ref.part, first.sources[index].ref.socket, cavity)
                for index, cavity in first.spare_cavities
                if rng.random() < 0.5
            ),
            shared=tuple(
                SharedChoice(
                    plug.ref.part, plug.ref.socket, cavity, rng.choice(("as_is", "thinner", "jumper", "splice"))
                )
                for plug in first.sources
                for cavity in plug.nets
                if rng.random() < 0.7
            ),
            method=rng.choice(("scratch", "scratch", "rework", "extension")),
            own_cable_mm=rng.choice((None, 150.0, 2000.0)),
        )
        made = Proved(plan(chosen, known), chosen, known)
        wired += bool(made.run.wires)
        spoiled += [(chosen.runs[0].method, len(chosen.parts), fault) for fault in wrong(made)]
    assert (spoiled, wired > 360) == ([], True)


def _another(plug: Plug, wire: PlannedWire, rng: Random) -> str:
    """A cavity of the same plug, mostly of the wire's own net."""
    same = [cavity for cavity, net in plug.nets.items() if net == wire.net]
    return rng.choice(same if rng.random() < 0.8 else sorted(plug.nets))


@pytest.mark.parametrize("inlet", ["peripheral-4", "sata-15"])
@pytest.mark.parametrize("sense", ["+12V_SENSE", "+5V_SENSE", "COM_SENSE"])
def test_a_chain_from_a_port_with_a_sense_line_is_proved(inlet: str, sense: str, catalogue: Catalogue) -> None:
    # The contacts of a chain are full: a crimped one holds the wire in and the wire onward, a blade holds one wire.
    spoiled = []
    for seed in range(60):
        build, known = chain_with_sense_line(catalogue, inlet, sense, seed)
        spoiled += wrong(Proved(plan(build, known), build, known))
    assert spoiled == []


def test_what_does_not_fit_is_told_by_the_proof_and_by_the_findings_alike(catalogue: Catalogue) -> None:
    # Two roads to one answer: wires against contacts in the proof, contacts looked for in the findings.
    told = {"gauge": {"gauge_contact", "no_wire"}, "insulation": {"insulation_contact"}}
    for build, known in pairs(catalogue, 600, 21):
        made = Proved(plan(build, known), build, known)
        codes = {finding.code for finding in made.plan.findings if finding.run == 1}
        for rule, alike in told.items():
            assert (rule in rules(made)) == bool(alike & codes), (build, rule)


# ---- spoiled plans: changes to every wire of many good plans --------------------------------------------------------


@cache
def bases() -> tuple[Proved, ...]:
    """Good plans without any fault: those by hand, and some forty of the planner's."""
    made = [make() for make in GOOD.values()]
    for build, known in pairs(shipped_catalogue(), 100, 31):
        case = Proved(plan(build, known), build, known)
        if case.run.wires and not found(case):
            made.append(case)
    assert len(made) > 40
    return tuple(made)


def power(case: Proved) -> list[PlannedWire]:
    """Wires that are no sense lines."""
    return [wire for wire in case.run.wires if not wire.net.endswith("_SENSE")]


def changed(case: Proved, old: PlannedWire, *new: PlannedWire) -> Proved:
    """The plan with one wire of its first run replaced."""
    wires = [fresh for wire in case.run.wires for fresh in (new if wire is old else (wire,))]
    return case.with_wires(*wires)


def swapped(case: Proved, one: PlannedWire, two: PlannedWire, side: str) -> Proved:
    a, b = getattr(one, side), getattr(two, side)
    case = changed(case, one, replace(one, **{side: replace(b, contact=a.contact)}))
    return changed(case, two, replace(two, **{side: replace(a, contact=b.contact)}))


def unequal(case: Proved) -> Iterator[tuple[PlannedWire, PlannedWire]]:
    """Pairs of wires of unequal nets that start and end at the same plugs and could not stand in for each other."""
    side = {wire.label: (wire.source_at_end, wire.source.plug, wire.target.plug) for wire in power(case)}
    for one, two in combinations(power(case), 2):
        if one.net != two.net and side[one.label] == side[two.label]:
            yield one, two


@pytest.mark.parametrize("side", ["source", "target"])
def test_two_wires_of_unequal_nets_exchanged_are_caught(side: str) -> None:
    tried = 0
    for case in bases():
        for one, two in unequal(case):
            tried += 1
            assert "net" in rules(swapped(case, one, two, side)), (case.run, one.label, two.label)
    assert tried > 500


def test_a_wire_left_out_is_missed() -> None:
    for case in bases():
        pins = case.catalogue.pinouts[case.build.parts[0].sockets[0].pinout].pins
        required = {pin.cavity for pin in pins if pin.need == "required"}
        for wire in power(case):
            if wire.target.cavity in required:
                assert "unfed" in rules(changed(case, wire)), (case.run, wire.label)


def test_a_wire_laid_twice_is_caught() -> None:
    for case in bases():
        for wire in power(case):
            again = replace(wire, label=f"{wire.label}x", id=f"{wire.id}x")
            assert {"fed_twice", "shared"} <= rules(changed(case, wire, wire, again)), (case.run, wire.label)


def test_two_wires_of_one_label_are_caught() -> None:
    for case in bases():
        for one, two in pairwise(case.run.wires):
            assert "label" in rules(changed(case, two, replace(two, label=one.label)))


def test_one_label_in_two_runs_is_caught() -> None:
    case = four_wires()
    again = replace(case.run, id="r2", number=2)
    case = replace(case, plan=replace(case.plan, runs=(case.run, again)))
    assert "label" in rules(case, "1-01")


def test_a_wire_with_another_net_written_on_it_is_caught() -> None:
    for case in bases():
        for wire in case.run.wires:
            assert "net" in rules(changed(case, wire, replace(wire, net="-12V" if wire.net != "-12V" else "COM")))


@pytest.mark.parametrize("cavity", ["25", "S5", ""])
@pytest.mark.parametrize("side", ["source", "target"])
def test_an_end_in_a_cavity_that_does_not_exist_is_caught(side: str, cavity: str) -> None:
    for case in bases():
        for wire in case.run.wires:
            moved = replace(wire, **{side: replace(getattr(wire, side), cavity=cavity)})
            assert "cavity" in rules(changed(case, wire, moved), wire.label)


@pytest.mark.parametrize("side", ["source", "target"])
def test_an_end_at_a_plug_that_does_not_exist_is_caught(side: str) -> None:
    for case in bases():
        for wire in case.run.wires:
            moved = replace(wire, **{side: replace(getattr(wire, side), plug=9)})
            assert "cavity" in rules(changed(case, wire, moved), wire.label)


def test_an_end_in_an_idle_cavity_of_the_port_is_caught() -> None:
    tried = 0
    for case in bases():
        for wire in case.run.wires:
            if not wire.source_at_end:
                idle = [c for c, net in case.run.sources[wire.source.plug].nets.items() if not net]
                for cavity in idle[:1] if case.run.method != "extension" else ():
                    tried += 1
                    moved = replace(wire, source=replace(wire.source, cavity=cavity))
                    assert "not_connected" in rules(changed(case, wire, moved), wire.label)
    assert tried > 100


OTHER_GENDER = {
    "p42-socket-16": "p42-pin-16",
    "p42-socket-18": "p42-pin-18",
    "p42-pin-18": "p42-socket-18",
    "p30-socket": "p30-pin",
    "p30-signal": "p30-signal-pin",
    "p508-socket": "p508-pin",
    "h254-socket": "h254-pin",
    "h254-pin": "h254-socket",
}


@pytest.mark.parametrize("side", ["source", "target"])
def test_a_contact_of_the_wrong_gender_is_caught(side: str) -> None:
    tried = 0
    for case in bases():
        for wire in case.run.wires:
            at = getattr(wire, side)
            if at.contact in OTHER_GENDER:
                tried += 1
                turned = replace(wire, **{side: replace(at, contact=OTHER_GENDER[at.contact])})
                assert "contact" in rules(changed(case, wire, turned), wire.label)
    assert tried > 200


@pytest.mark.parametrize("contact", ["p508-socket", "no-such-contact"])
def test_a_contact_of_another_family_is_caught(contact: str) -> None:
    case = four_wires()
    wire = case.run.wires[0]
    assert "contact" in rules(changed(case, wire, replace(wire, source=end(0, "3", contact))), "1-01")


def test_a_power_contact_in_a_sideband_cavity_is_caught(catalogue: Catalogue) -> None:
    tried = 0
    for case in bases():
        for wire in case.run.wires:
            if wire.target.contact == "p30-signal":
                tried += 1
                grown = replace(wire, target=replace(wire.target, contact="p30-socket"))
                assert "contact" in rules(changed(case, wire, grown), wire.label)
    assert tried > 0


def test_a_wire_too_thick_for_its_contact_is_caught() -> None:
    # 16 AWG goes into none of these alone: 18 to 24, 22 to 30 and 18 AWG.
    tried = 0
    for case in bases():
        for wire in case.run.wires:
            if wire.target.contact in ("p42-socket-18", "h254-socket", "h254-pin", "satad-blade", "p30-signal"):
                tried += 1
                assert "gauge" in rules(changed(case, wire, replace(wire, awg=16)), wire.label)
    assert tried > 100


def test_a_wire_that_nobody_lists_is_caught() -> None:
    case = four_wires()
    wire = case.run.wires[0]
    assert "gauge" in rules(changed(case, wire, replace(wire, awg=19)), "1-01")


def test_insulation_too_thick_for_the_grip_is_caught() -> None:
    # By hand: the blade of a SATA plug grips 2.0 to 2.5 mm; 18 AWG plain is 2.1 mm over its insulation, clear 1.7 mm.
    case = through_chain()
    wire = case.run.wires[0]
    assert "insulation" in rules(changed(case, wire, replace(wire, insulation="clear")), wire.label)


def test_two_wires_in_a_contact_that_holds_one_are_caught() -> None:
    # By hand: a contact of the 12+4 plug holds one wire.
    case = with_double()
    held = [replace(w, source=replace(w.source, contact="p30-socket")) for w in case.run.wires[-2:]]
    assert "holds" in rules(case.with_wires(*case.run.wires[:-2], *held))


# ---- spoiled plans: one change, one rule ----------------------------------------------------------------------------


def test_a_second_run_on_the_same_port_is_caught() -> None:
    case = four_wires()
    again = tuple(replace(w, label=f"2{w.label[1:]}", id=f"r2{w.id[2:]}") for w in case.run.wires)
    second = replace(case.run, id="r2", number=2, wires=again)
    build = replace(case.build, runs=(*case.build.runs, replace(case.build.runs[0], id="r2", number=2)))
    case = replace(case, plan=replace(case.plan, runs=(case.run, second)), build=build)
    assert [(f.run, f.rule) for f in found(case)] == [(2, "port"), (2, "port")]  # port and inlet


def test_a_tap_left_out_is_caught() -> None:
    case = through_chain()
    wire = case.run.wires[0]
    assert {"tap", "unfed"} <= rules(changed(case, wire, replace(wire, taps=wire.taps[:1])))


def test_a_piece_that_ends_before_the_last_plug_is_caught() -> None:
    case = through_chain()
    wire = case.run.wires[0]
    assert "tap" in rules(changed(case, wire, replace(wire, taps=wire.taps[:1], target=wire.taps[1])), wire.label)


def test_a_piece_that_taps_a_cavity_of_another_net_is_caught() -> None:
    case = through_chain()
    wire = case.run.wires[0]
    astray = replace(wire.taps[1], cavity="2")
    assert "net" in rules(changed(case, wire, replace(wire, taps=(wire.taps[0], astray))), wire.label)


def test_a_chain_handed_on_from_a_contact_of_another_net_is_caught() -> None:
    case = crimped_chain()
    wire = case.run.wires[4]
    moved = replace(wire, source=replace(wire.source, cavity="2"))
    assert "net" in rules(changed(case, wire, moved), wire.label)


def test_a_later_plug_fed_past_the_one_before_is_caught() -> None:
    case = crimped_chain()
    wire = case.run.wires[4]
    past = replace(wire, source=end(0, "1", "p42-socket-18"), source_at_end=False)
    assert "chain" in rules(changed(case, wire, past), wire.label)


def test_a_wire_that_runs_through_a_crimped_plug_is_caught() -> None:
    case = crimped_chain()
    first, second = case.run.wires[0], case.run.wires[4]
    through = replace(first, taps=(first.target,), target=second.target)
    assert "tap" in rules(changed(changed(case, first, through), second), first.label)


def test_a_wire_cut_at_a_pressed_plug_before_a_crimped_one_is_caught() -> None:
    case = mixed_chain()
    wire = case.run.wires[0]
    anew = replace(wire, label="1x", id="1x", source=wire.taps[0], source_at_end=True, taps=())
    case = changed(case, wire, replace(wire, taps=(), target=wire.taps[0]), anew)
    assert "chain" in rules(case, "1x")


def test_a_piece_of_a_mixed_chain_that_ends_before_a_plug_that_wants_it_is_caught() -> None:
    case = mixed_chain()
    wire = case.run.wires[0]
    assert "tap" in rules(changed(case, wire, replace(wire, taps=(), target=wire.taps[0])), wire.label)


def test_a_chain_shown_as_a_fork_is_caught_and_the_reverse() -> None:
    for case, kind in ((crimped_chain(), "fork"), (fork(), "chain")):
        assert "run" in rules(case.with_run(replace(case.run, kind=kind)))


def test_a_plug_of_a_fork_fed_from_another_is_caught() -> None:
    case = fork()
    wire = case.run.wires[4]
    onward = replace(wire, source=replace(wire.source, cavity="1"), source_at_end=True)
    assert "fork" in rules(changed(case, wire, onward), wire.label)


def test_a_wire_of_a_fork_that_goes_to_two_plugs_is_caught() -> None:
    case = fork()
    first, other = case.run.wires[0], case.run.wires[4]
    both = replace(first, taps=(first.target,), target=other.target)
    assert "fork" in rules(changed(changed(case, first, both), other), first.label)


def test_a_cavity_of_the_second_plug_of_a_fork_left_unfed_is_missed() -> None:
    case = fork()
    assert [(f.rule, f.wire) for f in found(changed(case, case.run.wires[4]))] == [("unfed", "")]


def test_a_cavity_of_a_fork_fed_twice_is_caught() -> None:
    case = fork()
    wire = case.run.wires[5]
    assert "fed_twice" in rules(changed(case, wire, replace(wire, target=replace(wire.target, cavity="1"))))


def test_nets_that_meet_in_the_second_plug_of_a_fork_are_caught() -> None:
    case = fork()
    wire = case.run.wires[4]
    assert "net" in rules(changed(case, wire, replace(wire, source=replace(wire.source, cavity="3"))), wire.label)


@pytest.mark.parametrize(
    ("plug", "cap"),
    [
        pytest.param(0, "p508d-through", id="a peripheral cap on a SATA plug"),
        pytest.param(0, "satad-end", id="an end cap where wires run on"),
        pytest.param(0, "", id="no cap"),
        pytest.param(0, "no-such-cap", id="a cap that nobody lists"),
        pytest.param(1, "satad-through", id="a cap on a crimped plug"),
        pytest.param(2, "satad-through", id="a through cap where the wires end"),
        pytest.param(2, "p508d-end", id="a peripheral end cap on a SATA plug"),
    ],
)
def test_a_wrong_cap_is_caught(plug: int, cap: str) -> None:
    case = mixed_chain()
    ends = tuple(replace(end_, cap=cap) if i == plug else end_ for i, end_ in enumerate(case.run.ends))
    assert rules(case.with_run(replace(case.run, ends=ends))) == {"cap"}


@pytest.mark.parametrize("cap", ["satad-through", "satad-end"])
def test_a_sata_cap_on_a_pressed_peripheral_plug_is_caught(cap: str, catalogue: Catalogue) -> None:
    inlet = replace(catalogue.pinouts["peripheral-4"], id="pressed-4", housing="p508d-4-right")
    known = replace(catalogue, pinouts={**catalogue.pinouts, inlet.id: inlet})
    nets = (("1", "+12V", "1"), ("2", "COM", "2"), ("3", "COM", "4"), ("4", "+5V", "3"))
    wires = tuple(
        hand_wire(f"1-0{to}", net, end(0, source, "p42-socket-18"), end(0, to, "p508d-blade"))
        for to, net, source in nets
    )
    right = proved("pressed-4", (DRIVE_PORT,), wires, caps=("p508d-end",), catalogue=known)
    wrong_one = right.with_run(replace(right.run, ends=(replace(right.run.ends[0], cap=cap),)))
    assert (rules(right), rules(wrong_one)) == (set(), {"cap"})


@pytest.mark.parametrize(
    "places",
    [
        pytest.param((208, 108, 308), id="not ascending"),
        pytest.param((108, 108, 308), id="two in one place"),
        pytest.param((0, 208, 308), id="at the cut end"),
        pytest.param((108, 208, 331), id="beyond the wire"),
        pytest.param((108, None, 308), id="left out"),
    ],
)
def test_wrong_tap_marks_are_caught(places: tuple[int | None, ...]) -> None:
    # By hand: the wires are 330 mm long.
    case = through_chain()
    marks = tuple(
        replace(mark, from_end_mm=at) for mark, at in zip(case.run.tap_marks, places, strict=True) if at is not None
    )
    assert rules(case.with_run(replace(case.run, tap_marks=marks))) == {"mark"}


def test_a_mark_for_a_plug_that_a_wire_does_not_come_to_is_caught() -> None:
    case = mixed_chain()
    mark = case.run.tap_marks[0]
    for wrong_one in (replace(mark, plug=2), replace(mark, labels=(*mark.labels, "1-99"))):
        case = case.with_run(replace(case.run, tap_marks=(mark, replace(wrong_one, from_end_mm=310))))
        assert "mark" in rules(case)


def test_a_stretch_that_starts_where_nothing_feeds_it_is_caught() -> None:
    case = crimped_chain()
    assert "chain" in rules(changed(case, case.run.wires[0]), "1b-01")


def test_a_sense_line_in_a_contact_of_another_net_is_caught() -> None:
    case = with_sense_line()
    wire = next(w for w in case.run.wires if w.label == "1-03s")
    assert "sense" in rules(changed(case, wire, replace(wire, target=replace(wire.target, cavity="1"))), "1-03s")


def test_a_sense_line_feeds_no_cavity() -> None:
    case = with_sense_line()
    wire = next(w for w in case.run.wires if w.label == "1-03")
    assert "unfed" in rules(changed(case, wire))


def test_a_load_on_a_sense_line_is_caught() -> None:
    # Cavity 4 wants +12V; a wire from the sense contact cannot be told from a sense line and feeds nothing.
    case = with_sense_line()
    wire = case.run.wires[-1]
    assert "unfed" in rules(changed(case, wire, replace(wire, source=replace(wire.source, cavity="5"))))


def test_a_contact_shared_in_silence_is_caught() -> None:
    case = with_double()
    wire = case.run.wires[-1]
    silent = replace(wire, source=replace(wire.source, shared_with=()))
    assert "shared" in rules(changed(case, wire, silent), wire.label)


def test_a_contact_said_to_be_shared_and_is_not_is_caught() -> None:
    case = with_double()
    assert "shared" in rules(changed(case, case.run.wires[-1]), "1-04")


def test_three_wires_in_a_contact_are_caught() -> None:
    case = with_double()
    labels = ("1-04", "1-06", "1-08")
    three = [
        replace(w, source=end(0, "8", "p42-socket-18", *(other for other in labels if other != w.label)))
        for w in case.run.wires
        if w.label in labels
    ]
    rest = [w for w in case.run.wires if w.label not in labels]
    assert "too_many" in rules(case.with_wires(*rest, *three))


def test_a_wire_without_contact_and_without_joint_is_caught() -> None:
    case = with_splice()
    assert rules(case.with_run(replace(case.run, joints=())), "1-06") == {"joint"}


def test_a_splice_onto_a_wire_that_is_not_in_that_contact_is_caught() -> None:
    case = with_splice()
    astray = (Joint("splice", ("1-05", "1-06"), True, 0, "8", "", 40.0, "small"),)
    assert "joint" in rules(case.with_run(replace(case.run, joints=astray)))


def test_two_spliced_wires_with_no_contact_between_them_are_caught() -> None:
    case = with_splice()
    wire = next(w for w in case.run.wires if w.label == "1-04")
    assert "joint" in rules(changed(case, wire, replace(wire, source=end(0, "8", "", crimped=False))))


def test_a_bridge_within_a_plug_that_nobody_agreed_to_is_caught() -> None:
    case = with_jumper()
    assert rules(case.with_run(replace(case.run, joints=())), "1-06") == {"joint"}


def test_a_bridge_from_a_cavity_of_another_net_is_caught() -> None:
    # Cavity 2 stands below cavity 6 and carries +12V.
    case = with_jumper()
    wire = case.run.wires[-1]
    astray = changed(case, wire, replace(wire, source=replace(wire.source, cavity="2")))
    astray = astray.with_run(replace(astray.run, joints=(Joint("jumper", ("1-06",), False, 0, "6", "2", 0.0, ""),)))
    assert "net" in rules(astray)


def test_three_of_the_supplys_own_wires_from_one_contact_are_caught() -> None:
    case = reworked()
    three = [replace(w, source=replace(w.source, cavity="3")) for w in case.run.wires[:3]]
    assert "too_many" in rules(case.with_wires(*three, case.run.wires[3]))


def test_an_extension_that_is_not_straight_is_caught() -> None:
    # Both cavities carry COM, so that only the course is wrong.
    case = extended()
    one, two = case.run.wires[:2]
    assert rules(swapped(case, one, two, "source")) == {"straight"}


def test_a_wire_in_an_optional_cavity_that_was_not_asked_for_is_caught() -> None:
    # The drive's +3.3V in cavity 5, from a port that carries it.
    with_3v3 = port("a", "p42-6-plug", ["drive"], ["+12V", "COM", "+5V", "COM", "+3.3V", ""])
    wires = through_chain().run.wires
    ends = [end(plug, "5", "satad-blade") for plug in range(3)]
    fifth = hand_wire("1-05", "+3.3V", end(0, "5", "p42-socket-18"), *ends)
    caps = ("satad-through", "satad-through", "satad-end")
    marks = tuple(TapMark(i, 108 + 100 * i, tuple(w.label for w in (*wires, fifth))) for i in range(3))
    three = "sata-15 sata-15 sata-15"
    asked = proved(three, (with_3v3,), (*wires, fifth), optional=("5",), caps=caps, tap_marks=marks)
    unasked = proved(three, (with_3v3,), (*wires, fifth), caps=caps, tap_marks=marks)
    assert (rules(asked), rules(unasked)) == (set(), {"optional"})


def test_a_wire_in_a_forbidden_cavity_is_caught() -> None:
    case = four_wires()
    forbidding = replace(case.build.runs[0], forbidden=(Forbidden(SUPPLY, "a", "3"),))
    assert rules(replace(case, build=replace(case.build, runs=(forbidding,)))) == {"forbidden"}


def test_a_wire_in_an_idle_cavity_of_the_part_is_caught(catalogue: Catalogue) -> None:
    # Cavity 20 of the 24-position inlet is not connected.
    build = built(catalogue, "one-24", [("board-small", 1)])
    made = plan(build, catalogue)
    case = Proved(replace(made, runs=(run_to(made, "p1", "main"),)), build, catalogue)
    first = case.run.wires[0]
    astray = changed(case, first, replace(first, target=replace(first.target, cavity="20")))
    assert "not_connected" in rules(astray, first.label)


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        pytest.param(lambda run: replace(run, id="r9"), "run", id="a run that the build does not have"),
        pytest.param(
            lambda run: replace(run, sources=(replace(run.sources[0], ref=PlugRef(SUPPLY, "z")),)),
            "run",
            id="a port that the build did not choose",
        ),
        pytest.param(
            lambda run: replace(run, sources=(replace(run.sources[0], ref=PlugRef(SUPPLY, "z")),)),
            "socket",
            id="a port that the layout does not have",
        ),
        pytest.param(
            lambda run: replace(run, sources=(replace(run.sources[0], housing="p42-6-plug"),)),
            "socket",
            id="a housing that does not go into the port",
        ),
        pytest.param(
            lambda run: replace(run, ends=(replace(run.ends[0], housing="p42-4-mate"),)),
            "socket",
            id="a housing that does not go into the inlet",
        ),
        pytest.param(
            lambda run: replace(run, sources=(replace(run.sources[0], nets={"1": "COM"}),)),
            "socket",
            id="a card that shows other nets than the layout records",
        ),
        pytest.param(
            lambda run: replace(run, sources=run.ends, ends=run.ends),
            "socket",
            id="a run that starts at an inlet",
        ),
    ],
)
def test_a_plug_astray_is_caught(change: Callable[..., object], rule: str) -> None:
    case = four_wires()
    assert rule in rules(case.with_run(change(case.run)))  # type: ignore[arg-type]


def test_nets_are_read_from_the_layout_and_not_from_the_plan() -> None:
    # The layout is metered again after the plan was made: cavities 1 and 3 carry each other's net.
    case = four_wires()
    layout = case.catalogue.supplies["test"]
    pins = layout.ports[0].pins
    turned = (replace(pins[0], net="COM"), pins[1], replace(pins[2], net="+12V"), pins[3])
    fresh = replace(layout, ports=(replace(layout.ports[0], pins=turned),))
    case = replace(case, catalogue=replace(case.catalogue, supplies={"test": fresh}))
    assert {(f.wire, f.rule) for f in found(case) if f.wire} == {("1-01", "net"), ("1-03", "net")}


def test_a_run_without_wires_is_proved_as_far_as_it_goes() -> None:
    assert found(four_wires().with_wires()) == ()


def test_the_proof_shares_no_module_with_the_planner() -> None:
    tree = ast.parse((ROOT / "server" / "domain" / "proof.py").read_text())
    named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
    assert {name for name in named if name.startswith("server.")} == {
        "server.domain.model.build",
        "server.domain.model.catalogue",
        "server.domain.model.plan",
    }
