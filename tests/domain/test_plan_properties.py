"""What holds for every plan, whatever the supply and the parts: no value is expected, only rules that cannot bend."""

import os
import subprocess
import sys
from collections import Counter, defaultdict
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from server.documents.plan_json import write_plan
from server.domain import edits
from server.domain.limits import problems
from server.domain.model.build import SUPPLY, Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan, PlannedWire, RunPlan
from server.domain.plan import plan
from server.domain.reference import sensed_net
from server.domain.sockets import every_socket
from tests.domain.random_builds import RECIPES, builds
from tests.domain.scenes import ROOT, ends_at_all, examples, shipped_catalogue

Case = tuple[Build, Catalogue]


def planned(case: Case) -> Plan:
    with ends_at_all(60):
        return plan(*case)


def every_wire(found: Plan) -> list[tuple[RunPlan, PlannedWire]]:
    return [(run, wire) for run in found.runs for wire in run.wires]


def net_at_start(run: RunPlan, wire: PlannedWire) -> str:
    plugs = run.ends if wire.source_at_end else run.sources
    return plugs[wire.source.plug].nets[wire.source.cavity]


@examples(30)
@given(builds())
def test_a_build_that_was_proposed_may_always_be_saved(case: Case) -> None:
    assert problems(*case) == ()


@examples(30)
@given(builds())
def test_no_wire_ever_joins_unequal_nets(case: Case) -> None:
    build, catalogue = case
    sockets = every_socket(build, catalogue)
    for run, wire in every_wire(planned(case)):
        for end in (*wire.taps, wire.target):
            ref = run.ends[end.plug].ref
            pinout = sockets[ref.part, ref.socket].pinout
            assert pinout is not None
            pin = next(p for p in pinout.pins if p.cavity == end.cavity)
            wanted = {sensed_net(wire.net)} if sensed_net(wire.net) else set(pin.accepts)
            assert wanted & {wire.net, *pin.accepts} == wanted
            assert wire.net in pin.accepts or sensed_net(wire.net) in pin.accepts
        # An optional net such as SENSE0 may start from COM; the wire carries what its source carries.
        if not wire.source_at_end:
            assert net_at_start(run, wire) == wire.net


@examples(30)
@given(builds())
def test_a_chain_hands_on_the_net_that_the_plug_before_was_fed(case: Case) -> None:
    for run in planned(case).runs:
        fed = {(wire.target.plug, wire.target.cavity): wire.net for wire in run.wires if not sensed_net(wire.net)}
        for wire in run.wires:
            if wire.source_at_end:
                assert fed[wire.source.plug, wire.source.cavity] == wire.net


@examples(30)
@given(builds())
def test_a_run_with_wires_feeds_every_required_cavity_of_every_plug(case: Case) -> None:
    build, catalogue = case
    sockets = every_socket(build, catalogue)
    for run in planned(case).runs:
        if not run.wires:
            continue
        fed = {
            (e.plug, e.cavity) for w in run.wires if not sensed_net(w.net) for e in (*w.taps, w.target)
        }  # fmt: skip
        for index, plug in enumerate(run.ends):
            pinout = sockets[plug.ref.part, plug.ref.socket].pinout
            assert pinout is not None
            assert {p.cavity for p in pinout.pins if p.need == "required"} <= {c for i, c in fed if i == index}


@examples(30)
@given(builds())
def test_a_run_without_wires_tells_why(case: Case) -> None:
    found = planned(case)
    told = {(f.run, f.code) for f in found.findings}
    for run in found.runs:
        if not run.wires and run.kind != "sleeved":
            assert {(run.number, "no_source"), (run.number, "net_short")} & told


@examples(30)
@given(builds())
def test_no_port_or_header_starts_two_runs(case: Case) -> None:
    used = Counter((p.ref.part, p.ref.socket) for run in planned(case).runs for p in run.sources)
    assert [where for where, count in used.items() if count > 1] == []


@examples(30)
@given(builds())
def test_no_contact_holds_more_than_two_wires(case: Case) -> None:
    for run in planned(case).runs:
        held: Counter[tuple[bool, int, str]] = Counter()
        for wire in run.wires:
            held[wire.source_at_end, wire.source.plug, wire.source.cavity] += 1
            held[True, wire.target.plug, wire.target.cavity] += 1
        assert max(held.values(), default=0) <= 2


@examples(30)
@given(builds())
def test_wires_in_one_contact_name_each_other_and_take_one_kind_of_contact(case: Case) -> None:
    for run in planned(case).runs:
        held: dict[tuple[bool, int, str], list[tuple[str, str, tuple[str, ...]]]] = defaultdict(list)
        for wire in run.wires:
            for at_end, end in ((wire.source_at_end, wire.source), (True, wire.target)):
                if end.crimped:  # A spliced wire ends before the contact.
                    held[at_end, end.plug, end.cavity].append((wire.label, end.contact, end.shared_with))
        for entries in held.values():
            labels = {label for label, _, _ in entries}
            assert len({contact for _, contact, _ in entries}) == 1
            assert all(set(shared) == labels - {label} for label, _, shared in entries)


@examples(30)
@given(builds())
def test_every_wire_of_a_build_has_a_label_of_its_own(case: Case) -> None:
    labels = Counter(wire.label for _, wire in every_wire(planned(case)))
    assert [label for label, count in labels.items() if count > 1] == []


@examples(30)
@given(builds())
def test_every_wire_of_a_build_has_an_identity_of_its_own(case: Case) -> None:
    ids = Counter(wire.id for _, wire in every_wire(planned(case)))
    assert [ident for ident, count in ids.items() if count > 1] == []


@examples(20)
@given(builds(), st.sampled_from(RECIPES), st.integers(1, 2))
def test_a_part_more_leaves_every_other_wire_as_it_was(case: Case, recipe: str, count: int) -> None:
    build, catalogue = case
    before = {wire.id: wire for _, wire in every_wire(planned(case))}
    grown = edits.add_parts(build, catalogue, recipe, count, "")
    after = {wire.id: wire for _, wire in every_wire(planned((grown, catalogue)))}
    assert {ident: after.get(ident) for ident in before} == before


@examples(20)
@given(builds(), st.data())
def test_a_part_less_leaves_the_wires_of_other_runs_as_they_were(case: Case, data: st.DataObject) -> None:
    build, catalogue = case
    gone = data.draw(st.sampled_from([part.id for part in build.parts]))
    touched = {run.id for run in build.runs if gone in {p.part for p in (*run.sources, *run.ends)}}
    before = [(run, wire) for run, wire in every_wire(planned(case)) if run.id not in touched]
    after = {wire.id: wire for _, wire in every_wire(planned((edits.remove_part(build, gone), catalogue)))}
    assert all(after[wire.id] == wire for _, wire in before)


@examples(30)
@given(builds())
def test_the_cut_list_holds_every_measured_wire_once_and_no_other(case: Case) -> None:
    found = planned(case)
    listed = Counter(label for group in found.cuts for line in group.lines for label in line.labels)
    measured = Counter(w.label for run, w in every_wire(found) if run.state == "measured")
    assert listed == measured


@examples(30)
@given(builds())
def test_the_cut_lists_totals_are_the_sums_of_its_wires(case: Case) -> None:
    found = planned(case)
    lengths: Counter[tuple[int, str, str]] = Counter()
    for _, wire in every_wire(found):
        lengths[wire.awg, wire.insulation, wire.colour] += wire.cut_mm or 0
    totals = {(g.awg, g.insulation, g.colour): g.total_mm for g in found.cuts}
    assert totals == {key: total for key, total in lengths.items() if total}


@examples(30)
@given(builds())
def test_every_line_of_the_cut_list_is_wires_of_that_length(case: Case) -> None:
    found = planned(case)
    cut = {wire.label: wire.cut_mm or 0 for _, wire in every_wire(found)}
    for group in found.cuts:
        lengths = {cut[label] for line in group.lines for label in line.labels}
        assert [line.cut_mm for line in group.lines] == sorted(lengths, reverse=True)
        assert all(cut[label] == line.cut_mm for line in group.lines for label in line.labels)


@examples(30)
@given(builds())
def test_a_range_is_bought_for_and_never_cut(case: Case) -> None:
    for run, wire in every_wire(planned(case)):
        if wire.terms and sum(term.mm for term in wire.terms) <= 0:
            continue  # The ribbon folds over itself there, and the run is stopped.
        expected = {"measured": (True, True), "range": (False, True), "unmeasured": (False, False)}[run.state]
        assert (wire.cut_mm is not None, wire.buy_mm > 0) == expected


@examples(30)
@given(builds())
def test_a_wire_is_never_shorter_than_its_route_its_depths_and_its_allowance(case: Case) -> None:
    for run, wire in every_wire(planned(case)):
        if run.state != "unmeasured":
            assert wire.buy_mm >= sum(term.mm for term in wire.terms) - 1e-5


@examples(30)
@given(builds())
def test_wire_is_needed_for_the_sum_of_the_pieces_to_buy(case: Case) -> None:
    found = planned(case)
    pieces: Counter[tuple[str, str]] = Counter()
    for _, wire in every_wire(found):
        pieces[f"awg{wire.awg}-{wire.insulation}", wire.colour] += wire.buy_mm
    needed = {(line.item, line.colour): line.needed for line in found.buys if line.kind == "wire"}
    assert needed == {key: total for key, total in pieces.items() if total}


@examples(30)
@given(builds())
def test_the_packs_of_every_line_cover_its_need_at_the_price_told(case: Case) -> None:
    build, catalogue = case
    packs = {pack.id: pack for pack in catalogue.packs}
    for line in planned((build, catalogue)).buys:
        assert line.price is not None
        assert sum(packs[ident].quantity * n for ident, n in line.packs) == line.packed >= line.needed
        assert sum((packs[ident].price * n for ident, n in line.packs), Decimal(0)) == line.price
        assert all(packs[ident].item == line.item and packs[ident].kind == line.kind for ident, _ in line.packs)


@examples(30)
@given(builds())
def test_a_shared_contact_is_bought_once(case: Case) -> None:
    found = planned(case)
    places = {
        (run.id, at_end, end.plug, end.cavity, end.contact)
        for run, wire in every_wire(found)
        for at_end, end in ((wire.source_at_end, wire.source), *((True, e) for e in (*wire.taps, wire.target)))
        if end.contact and shipped_catalogue().contacts[end.contact].gender != "blade"
    }
    crimped = Counter(contact for *_, contact in places)
    assert {line.item: line.needed - line.spare for line in found.buys if line.kind == "contact"} == crimped


@examples(30)
@given(builds())
def test_the_summary_counts_what_the_plan_holds(case: Case) -> None:
    found = planned(case)
    severities = Counter(f.severity for f in found.findings)
    summary = found.summary
    assert (summary.runs, summary.wires, summary.stops, summary.warns, summary.notes) == (
        len(found.runs), len(every_wire(found)), severities["stop"], severities["warn"], severities["note"],
    )  # fmt: skip


@examples(30)
@given(builds())
def test_every_inlet_is_either_fed_by_a_run_or_listed_with_a_reason(case: Case) -> None:
    build, catalogue = case
    found = planned(case)
    inlets = {where for where, facts in every_socket(build, catalogue).items() if facts.role == "inlet"}
    fed = {(p.ref.part, p.ref.socket) for run in found.runs for p in run.ends}
    told = {(u.part, u.socket) for u in found.unfed if u.reason}
    assert fed | told == inlets
    assert fed & told == set()


@examples(20)
@given(builds())
def test_a_layout_of_which_a_used_cavity_is_unmetered_always_stops_the_work(case: Case) -> None:
    _, catalogue = case
    found = planned(case)
    used = any(p.ref.part == SUPPLY for run in found.runs if run.wires for p in run.sources)
    stopped = ("stop", "not_metered") in {(f.severity, f.code) for f in found.findings}
    assert stopped == (used and not catalogue.supplies["random"].readings)
    # A reading may also speak against what a cavity is said to carry; every such stop says NOT METERED.
    spoken = any(f.severity == "stop" and f.text.startswith("NOT METERED") for f in found.findings)
    assert found.metered != spoken


@examples(20)
@given(builds())
def test_every_random_plan_passes_the_independent_check(case: Case) -> None:
    assert all(run.proved for run in planned(case).runs)


@examples(20)
@given(builds())
def test_the_same_build_gives_the_same_plan_to_the_byte(case: Case) -> None:
    assert write_plan(planned(case)) == write_plan(planned(case))


WRITE_EVERY_PLAN = """
import sys
from server.documents.plan_json import write_plan
from server.domain.plan import plan
from tests.domain.scenes import built, measured, shipped_catalogue
catalogue = shipped_catalogue()
parts = [("board-large", 1), ("graphics-2x8", 1), ("graphics-12-4", 1), ("drive-sata", 4), ("drive-peripheral", 3),
         ("fan-4", 4), ("light-5v", 1), ("button", 2), ("usb2", 1), ("fan-hub", 1), ("sata-data", 1)]
for layout in catalogue.supplies:
    sys.stdout.write(write_plan(plan(measured(built(catalogue, layout, parts)), catalogue)))
"""


def test_another_process_with_other_hash_seeds_gives_the_same_plan_to_the_byte() -> None:
    written = [
        subprocess.run(
            [sys.executable, "-c", WRITE_EVERY_PLAN],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "4711")
    ]
    assert len(written[0]) > 100_000
    assert written[0] == written[1]
