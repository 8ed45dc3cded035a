"""Findings: every one says what, where, the numbers, the source and one way out.

Expected values: sums by hand beside each, from the shipped catalogue's diameters and resistances; published multiples
of wire diameter (NASA-STD-8739.4, 6 and 10) and the fit rule of heat-shrink.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from server.documents.build_json import read_build
from server.domain import edits
from server.domain.model.build import (
    SUPPLY,
    Allowances,
    Build,
    Finish,
    Pinned,
    PlugRef,
    Route,
    Run,
    RunFinish,
    SharedChoice,
)
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Finding
from server.domain.model.route import RouteStep
from server.domain.plan import plan
from server.domain.plan.checks.gather import runs_words
from server.domain.plan.trust import proved
from tests.domain.hand_plans import four_wires
from tests.domain.scenes import EXAMPLES, ROOT, built, layout, measured, port, shipped_catalogue, with_layout

CPU_NETS = ["COM"] * 4 + ["+12V"] * 4
EIGHTS = ["+12V"] * 4 + ["COM"] * 4
DRIVE_NETS = ["+12V", "COM", "+5V", "COM", "", ""]
MAIN_NETS = [
    "+3.3V", "+3.3V", "COM", "+5V", "COM", "+5V", "COM", "PWR_OK", "+5VSB", "+12V", "+12V", "+3.3V", "+3.3V", "-12V",
    "COM", "PS_ON#", "COM", "COM", "COM", "", "+5V", "+5V", "+5V", "COM",
]  # fmt: skip
WITHOUT_NUMBERS = {"no_supply", "no_source", "method_refused"}
"""Findings about something that is missing altogether: there is nothing to measure."""

Case = tuple[Build, Catalogue]


def inlet(pinout: str, nets: list[str], housing: str, **fields: object) -> Case:
    """One inlet on one port of a metered layout; the given fields on its run."""
    shipped = shipped_catalogue()
    use = shipped.pinouts[pinout].use
    own = with_layout(shipped, layout(port("A", housing, [use], nets)))
    build = edits.add_custom_part(Build(name="Test", supply="test"), own, "other", "Part", (pinout,), "")
    (run,) = build.runs or (Run("r1", 1, (PlugRef(SUPPLY, "A"),), (PlugRef("p1", "s1"),)),)
    return replace(build, runs=(replace(run, **{"route": Route(450), **fields}),), next_number=2), own


def cpu(**fields: object) -> Case:
    """Eight 16 AWG wires of 2.4 mm: four of +12V, four of COM."""
    return inlet("cpu-8", CPU_NETS, "p42-8c-plug", **fields)


def graphics(nets: list[str] = EIGHTS, **fields: object) -> Case:
    return inlet("graphics-8", nets, "p42-8g-plug", **fields)


def chain(plugs: int, pinout: str = "sata-15", **fields: object) -> Case:
    """Drives on one chain from one port, 100 mm apart."""
    own = with_layout(shipped_catalogue(), layout(port("P1", "p42-6-plug", ["drive"], DRIVE_NETS)))
    build = Build(name="Test", supply="test")
    for _ in range(plugs):
        build = edits.add_custom_part(build, own, "drive", "Drive", (pinout,), "")
    ends = tuple(PlugRef(part.id, "s1") for part in build.parts)
    route = Route(400, spacing_mm=(100.0,) * (plugs - 1))
    run = Run("r1", 1, (PlugRef(SUPPLY, "P1"),), ends, **{"route": route, **fields})  # type: ignore[arg-type]
    return replace(build, runs=(run,), next_number=2), own


def main_24(*steps: RouteStep) -> Case:
    """Twelve columns at 4.2 mm: the outermost wire lies 23.1 mm from the middle; 16 AWG, 2.4 mm."""
    return inlet("main-24", MAIN_NETS, "p42-24-plug", route=Route(steps=steps))


def bent(kind: str, radius_mm: float, times: int = 1) -> Case:
    steps = [RouteStep("leg", 100), RouteStep(kind, angle_deg=90, radius_mm=radius_mm)]  # type: ignore[arg-type]
    return main_24(*steps * times)


def data_cable(pinout: str = "usb3-data", **finish: object) -> Case:
    shipped = shipped_catalogue()
    build = edits.add_custom_part(Build(name="Test"), shipped, "other", "Part", (pinout,), "")
    run = Run("r1", 1, (), (PlugRef("p1", "s1"),), route=Route(400), finish=RunFinish(**finish))  # type: ignore[arg-type]
    return replace(build, runs=(run,), next_number=2), shipped


def changed(case: Case, **tables: object) -> Case:
    return case[0], replace(case[1], **tables)  # type: ignore[arg-type]


def without(case: Case, table: str, *idents: str) -> Case:
    held = getattr(case[1], table)
    return changed(case, **{table: {ident: held[ident] for ident in held if ident not in idents}})


def with_contact(case: Case, ident: str, **fields: object) -> Case:
    contacts = case[1].contacts
    return changed(case, contacts={**contacts, ident: replace(contacts[ident], **fields)})  # type: ignore[arg-type]


def metered_as(nets: list[str], **values: object) -> Case:
    """A CPU cable on a layout with one reading of cavity 1 changed."""
    build, own = inlet("cpu-8", nets, "p42-8c-plug")
    supply = own.supplies["test"]
    readings = tuple(
        replace(r, **values) if r.cavity == "1" else r
        for r in supply.readings  # type: ignore[arg-type]
    )
    return build, with_layout(own, replace(supply, readings=readings))


def unread() -> Case:
    build, own = cpu()
    return build, with_layout(own, replace(own.supplies["test"], readings=()))


def newer() -> Case:
    build, own = cpu()
    old = own.supplies["test"]
    own = replace(own, earlier={("test", 1): old})
    return build, with_layout(own, replace(old, version=3))


def limited() -> Case:
    build, own = graphics()
    return build, with_layout(own, replace(own.supplies["test"], limits_a={"+12V": 10.0}))


def other_use() -> Case:
    build, own = graphics()
    return build, with_layout(own, layout(port("A", "p42-8g-plug", ["cpu"], EIGHTS)))


def sense_line_too_many() -> Case:
    own = with_layout(shipped_catalogue(), layout(port("A", "p42-10-plug", ["cpu"], [*CPU_NETS, "+5V_SENSE", ""])))
    return edits.add_custom_part(Build(name="Test", supply="test"), own, "board", "Board", ("cpu-8",), ""), own


def unfed() -> Case:
    build, own = cpu()
    return edits.add_custom_part(build, own, "board", "Board", ("cpu-8",), ""), own


def no_listed_pack() -> Case:
    build, own = cpu()
    return changed((build, own), packs=tuple(pack for pack in own.packs if pack.kind != "housing"))


def no_crimp_listed() -> Case:
    build, own = cpu()
    return changed((build, own), crimps=tuple(c for c in own.crimps if c.contact != "p42-socket-16"))


def with_tail(tail_mm: float) -> Case:
    return cpu(ends=(PlugRef("p1", "s1", tail_mm=tail_mm),))


def stripped(case: Case, **strip_mm: float) -> Case:
    allowances = Allowances(strip_mm={name.replace("_", "-"): mm for name, mm in strip_mm.items()})
    return replace(case[0], allowances=allowances), case[1]


TWO_CONTACTS_FOR_THREE = ["+12V", "+12V", "", "", *["COM"] * 4]
"""Three +12V wires of a 150 W inlet from two contacts: two loaded wires share one."""

HARDLY_STRAIGHT = Route(
    steps=(RouteStep("leg", 100), RouteStep("up", angle_deg=180, radius_mm=100), RouteStep("leg", 20))
)
"""By hand: 434.2 mm, 217.1 visible, of which 20 are straight: combs at 36, 109 and 181."""


def as_they_are() -> Case:
    """The same, the builder having said that the two are crimped as they are."""
    shared = tuple(SharedChoice(SUPPLY, "A", cavity, "as_is") for cavity in ("1", "2"))
    return graphics(TWO_CONTACTS_FOR_THREE, shared=shared)


def shallow(depth_mm: float) -> Case:
    build, own = cpu()
    return replace(build, allowances=Allowances(depth_mm={"p42": depth_mm})), own


def wound(length_mm: float, times: int = 1) -> Case:
    """The board's cable with quarter twists over so much."""
    return main_24(*[RouteStep("leg", 100), RouteStep("twist", length_mm, 90)] * times)


def tight_by(conductor_mm2: float) -> Case:
    """An 18 AWG wire and a thinner one of so much copper in a contact that takes 1.32 mm2."""
    build, own = graphics(finish=RunFinish(awg=18), shared=(SharedChoice(SUPPLY, "A", "8", "thinner"),))
    cavity = plan(build, own).runs[0].offers[0].cavity
    run = replace(build.runs[0], shared=(SharedChoice(SUPPLY, "A", cavity, "thinner"),))
    second = replace(own.wires["awg22-plain"], conductor_mm2=conductor_mm2)
    return replace(build, runs=(run,)), replace(own, wires={**own.wires, "awg22-plain": second})


SCENES: dict[str, tuple[str, Callable[[], Case]]] = {
    "no supply": ("no_supply", lambda: (Build(name="Test"), shipped_catalogue())),
    "a sample layout": ("not_metered", lambda: (built(shipped_catalogue(), "one-24", []), shipped_catalogue())),
    "an own layout without readings": ("not_metered", unread),
    "a reading that fits nothing": ("meter_no_fit", lambda: metered_as(CPU_NETS, on_v=8.0, to_ground=None, settled="")),
    "a reading of another net": (
        "meter_contradicts",
        lambda: metered_as(["+12V", *CPU_NETS[1:]], on_v=5.0, settled=""),
    ),
    "a reading of two nets": (
        "meter_two_fit",
        lambda: metered_as(["+5V", *CPU_NETS[1:]], on_v=5.0, standby_v=None, to_ground=None, settled=""),
    ),
    "a newer layout": ("newer_layout", newer),
    "a supply limit": ("supply_limit", limited),
    "an inlet without a run": ("unfed", unfed),
    "an item without a pack": ("no_pack", no_listed_pack),
    "a piece longer than a roll": (
        "piece_too_long",
        lambda: chain(12, route=Route(400, spacing_mm=(4900.0,) * 11)),
    ),
    "insulation": ("insulation_hardness", cpu),
    "no source": ("no_source", lambda: cpu(sources=())),
    "a pin on an unequal net": ("pin_impossible", lambda: cpu(pins=(Pinned("1", SUPPLY, "A", "5"),))),
    "a chain to be reworked": ("method_refused", lambda: chain(2, method="rework")),
    "too few contacts": ("net_short", lambda: cpu_from(["COM"] * 7 + ["+12V"])),
    "a port for another use": ("other_use", other_use),
    "a sense line too many": ("sense_unused", sense_line_too_many),
    "both sense lines in COM": (
        "full_power_told",
        lambda: (built(shipped_catalogue(), "shared-8", [("graphics-12-4", 1)]), shipped_catalogue()),
    ),
    "no length": ("unmeasured", lambda: cpu(route=Route())),
    "no spacing": ("unmeasured", lambda: chain(3, route=Route(400))),
    "a range": ("range", lambda: cpu(route=Route(low_mm=400, high_mm=500))),
    "a short route": ("route_short", lambda: cpu(route=Route(30))),
    "a long route": ("route_long", lambda: cpu(route=Route(3000))),
    "a short spacing": ("spacing_short", lambda: chain(2, route=Route(400, spacing_mm=(10.0,)))),
    "longer than its range": ("outside_range", lambda: cpu(route=Route(620, 400, None, 580))),
    "shorter than its range": ("outside_range", lambda: cpu(route=Route(350, 400, None, 580))),
    "a tail longer than the route": ("tail_long", lambda: with_tail(500)),
    "a ribbon that folds": ("tight_bend", lambda: bent("left", 20)),
    "a bend under six diameters": ("tight_bend", lambda: bent("left", 35)),
    "a bend under ten diameters": ("tight_bend", lambda: bent("left", 40)),
    "a twist that is too short": ("tight_twist", lambda: wound(10)),
    "seven short twists": ("tight_twists_more", lambda: wound(10, 7)),
    "seven tight bends": ("tight_bends_more", lambda: bent("up", 12, 7)),
    "a gauge that is not listed": ("no_wire", lambda: cpu(finish=RunFinish(awg=19))),
    "16 AWG in a displacement plug": ("gauge_contact", lambda: chain(2, finish=RunFinish(awg=16))),
    "insulation too thin": ("insulation_contact", lambda: chain(1, finish=RunFinish(insulation="high_temperature"))),
    "no crimp row": ("no_crimp", no_crimp_listed),
    "a strip that is not the crimp's own": ("strip_off", lambda: stripped(cpu(), p42_socket_16=9.0)),
    "a depth shorter than the strip": ("strip_long", lambda: shallow(3.0)),
    "no caps": ("no_cap", lambda: without(chain(2), "caps", "satad-through")),
    "a double that fits": ("double", lambda: graphics(finish=RunFinish(awg=20))),
    "a double too thick": ("double_tight", as_they_are),
    "a double the grip does not take": (
        "double_insulation",
        lambda: with_contact(graphics(finish=RunFinish(awg=20)), "p42-socket-18", insulation_max_mm=2.0),
    ),
    "a contact for one wire only": (
        "too_many_wires",
        lambda: with_contact(graphics(finish=RunFinish(awg=20)), "p42-socket-18", wires_max=1),
    ),
    "five drives on one contact": ("contact_current", lambda: chain(5)),
    "a cable too long for its load": ("voltage_drop", lambda: cpu(route=Route(5000))),
    "a sleeve too wide": ("sleeve_fit", lambda: cpu(finish=RunFinish(sleeve="large"))),
    "a sleeve that does not pass the plug": ("sleeve_fit", lambda: data_cable(sleeve="large")),
    "heat-shrink too narrow": ("shrink_fit", lambda: cpu(finish=RunFinish(shrink_size="s3-32"))),
    "heat-shrink that does not grip": ("shrink_fit", lambda: cpu(finish=RunFinish(shrink_size="middle"))),
    "a comb without a straight place": ("comb_left_out", lambda: cpu(route=HARDLY_STRAIGHT)),
    "no comb": ("no_comb", lambda: without(cpu(), "combs", *(c for c in shipped_catalogue().combs if "row" not in c))),
}


def cpu_from(nets: list[str]) -> Case:
    return inlet("cpu-8", nets, "p42-8c-plug")


def found(case: Case, code: str) -> list[Finding]:
    return [finding for finding in plan(*case).findings if finding.code == code]


def one(case: Case, code: str) -> Finding:
    (finding,) = found(case, code)
    return finding


def whole(finding: Finding) -> bool:
    """Says what, with numbers where there are any, by which source, and one way out."""
    numbers = finding.code in WITHOUT_NUMBERS or re.search(r"\d", finding.text) is not None
    return bool(numbers and finding.text and finding.source and finding.way_out.endswith("."))


@pytest.mark.parametrize("name", SCENES)
def test_every_finding_has_its_numbers_its_source_and_a_way_out(name: str) -> None:
    code, scene = SCENES[name]
    findings = plan(*scene()).findings
    assert code in {finding.code for finding in findings}
    assert [finding for finding in findings if not whole(finding)] == []


@pytest.mark.parametrize("name", ["compact", "large"])
def test_every_finding_of_the_examples_has_its_numbers_its_source_and_a_way_out(name: str) -> None:
    build = read_build((EXAMPLES / f"{name}.json").read_bytes())
    assert [finding for finding in plan(build, shipped_catalogue()).findings if not whole(finding)] == []


def test_a_fault_that_the_proof_finds_has_a_source_and_a_way_out() -> None:
    good = four_wires()
    first, *others = good.run.wires
    wrong = good.with_wires(replace(first, net="+5V"), *others)
    _, findings = proved(wrong.plan, wrong.build, wrong.catalogue)
    assert findings
    assert all(whole(finding) for finding in findings)


def test_every_code_that_the_checks_know_is_provoked_by_a_scene() -> None:
    sources = [*(ROOT / "server/domain/plan/checks").glob("*.py"), ROOT / "server/domain/plan/trust.py"]
    known = {code for path in sources for code in codes_in(path)}
    provoked = {code for code, _ in SCENES.values()}
    assert known - provoked == {"proof"}


def codes_in(path: Path) -> set[str]:
    """Second argument of every finding that a module makes."""
    return set(re.findall(r'(?:Told|Finding)\(\s*[^,]+,\s*"([a-z_]+)"', path.read_text()))


# ---- bends ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "radius", "severity", "inner", "way_out"),
    [
        # 16 AWG is 2.4 mm: least 14.4 mm, for good 24 mm. Edgewise the innermost wire lies 23.1 mm inside, flat 2.1 mm.
        pytest.param("left", 20, "stop", "3.1 mm too far in", "48 mm", id="20 - 23.1 folds; 24 + 23.1 = 47.1, so 48"),
        pytest.param("left", 35, "warn", "11.9 mm", "48 mm", id="35 - 23.1 = 11.9 is less than 14.4"),
        pytest.param("right", 40, "note", "16.9 mm", "48 mm", id="40 - 23.1 = 16.9 is less than 24"),
        pytest.param("up", 12, "warn", "9.9 mm", "27 mm", id="12 - 2.1 = 9.9; 24 + 2.1 = 26.1, so 27"),
    ],
)
def test_a_tight_bend_names_its_innermost_wire_and_the_radius_that_would_do(
    kind: str, radius: float, severity: str, inner: str, way_out: str
) -> None:
    finding = one(bent(kind, radius), "tight_bend")
    assert (finding.severity, inner in finding.text, "step 2" in finding.text) == (severity, True, True)
    assert way_out in finding.way_out


def test_a_bend_of_ten_diameters_at_the_innermost_wire_is_no_finding() -> None:
    assert found(bent("left", 48), "tight_bend") == []


def test_the_five_worst_bends_are_told_and_the_others_counted() -> None:
    case = bent("up", 12, 7)
    assert (len(found(case, "tight_bend")), "2 more" in one(case, "tight_bends_more").text) == (5, True)


# ---- lengths --------------------------------------------------------------------------------------------------------


def test_a_measured_length_over_its_range_says_how_much_wire_is_missing() -> None:
    # By hand: 620 - 580 = 40 mm, eight wires: 320 mm.
    finding = one(cpu(route=Route(620, 400, None, 580)), "outside_range")
    assert ("40 mm longer" in finding.text, "320 mm" in finding.way_out) == (True, True)


def test_a_measured_length_under_its_range_says_how_much_wire_is_left_over() -> None:
    # By hand: 400 - 350 = 50 mm under; 580 - 350 = 230 mm too much, eight wires: 1840 mm.
    finding = one(cpu(route=Route(350, 400, None, 580)), "outside_range")
    assert ("50 mm shorter" in finding.text, "1840 mm" in finding.text) == (True, True)


@pytest.mark.parametrize("length", [400, 500, 580])
def test_a_measured_length_inside_its_range_is_no_finding(length: float) -> None:
    assert found(cpu(route=Route(length, 400, None, 580)), "outside_range") == []


def test_a_tail_as_long_as_the_route_is_no_finding() -> None:
    assert found(with_tail(450), "tail_long") == []


def test_what_is_missing_of_wire_and_sleeve_is_counted() -> None:
    # By hand: 620 - 580 = 40 mm, eight wires: 320 mm; the braid over 2.4 mm takes 1.32037 as much: 422.5, up to 423.
    finding = one(cpu(route=Route(620, 400, None, 580)), "outside_range")
    assert ("320 mm more wire" in finding.way_out, "423 mm more sleeve" in finding.way_out) == (True, True)


def test_a_short_twist_names_its_tightest_wire_and_the_length_that_would_do() -> None:
    # By hand: 10 mm for a quarter turn are 6.366 mm a radian. The wires 6.3 mm beside the middle and 2.1 mm over it lie
    # at 6.641 mm: (44.10 + 40.53) / 6.641 = 12.74 mm, under 6 x 2.4 = 14.4. For 24 mm those at 10.708 mm want most:
    # the root of 10.708 x (24 - 10.708) is 11.930; times pi / 2 it is 18.74.
    finding = one(wound(10), "tight_twist")
    assert (finding.severity, "12.7 mm" in finding.text, "19 mm" in finding.way_out) == ("warn", True, True)


def test_a_twist_of_the_length_that_is_named_is_no_finding() -> None:
    assert (found(wound(19), "tight_twist"), len(found(wound(18), "tight_twist"))) == ([], 1)


# ---- contacts -------------------------------------------------------------------------------------------------------


def test_16_awg_in_a_displacement_plug_is_a_stop_that_names_18_awg() -> None:
    # Shipped contacts: the blade of the SATA plug takes 18 AWG only.
    finding = found(chain(2, finish=RunFinish(awg=16)), "gauge_contact")[0]
    assert (finding.severity, "18 AWG" in finding.way_out) == ("stop", True)


def test_insulation_too_thin_for_a_blade_names_the_insulation_that_it_grips() -> None:
    # Shipped table: the blade grips 2.0 to 2.5 mm; high-temperature 18 AWG is 1.8 mm, plain 2.1 mm.
    finding = one(chain(1, finish=RunFinish(insulation="high_temperature")), "insulation_contact")
    assert ("1.8 mm" in finding.text, "plain" in finding.way_out, "2.1 mm" in finding.way_out) == (True, True, True)


@pytest.mark.parametrize("strip", [2.9, 4.1, 9.0])
def test_a_strip_half_a_millimetre_off_its_crimps_own_is_warned_of(strip: float) -> None:
    # Shipped table: 16 AWG in its 4.2 mm contact is stripped 3.5 mm.
    finding = one(stripped(cpu(), p42_socket_16=strip), "strip_off")
    assert (finding.severity, f"{strip:g} mm" in finding.text, finding.way_out) == ("warn", True, "Strip 3.5 mm.")


@pytest.mark.parametrize("strip", [3.0, 3.5, 4.0])
def test_a_strip_within_half_a_millimetre_is_no_finding(strip: float) -> None:
    assert found(stripped(cpu(), p42_socket_16=strip), "strip_off") == []


def test_a_depth_shorter_than_what_is_stripped_names_the_listed_depth() -> None:
    # Shipped table: 4.2 mm contacts reach 8 mm into the housing.
    finding = one(shallow(3.0), "strip_long")
    assert ("3 mm" in finding.text, "8 mm" in finding.way_out) == (True, True)


def test_a_missing_through_cap_stops_a_chain() -> None:
    assert one(without(chain(2), "caps", "satad-through"), "no_cap").severity == "stop"


def test_a_single_displacement_plug_needs_no_through_cap() -> None:
    assert found(without(chain(1), "caps", "satad-through"), "no_cap") == []


def test_two_loaded_wires_far_too_thick_for_their_contact_stop_with_the_splice_as_way_out() -> None:
    # By hand: two of 16 AWG are 2.64 mm2 where 1.32 mm2 fit; a splice sits 40 mm from the housing.
    finding = next(f for f in found(as_they_are(), "double_tight") if "2.64" in f.text)
    assert finding.severity == "stop"
    assert ("Splice" in finding.way_out, "40 mm" in finding.way_out) == (True, True)


@pytest.mark.parametrize(("second_mm2", "severity"), [(0.58, "warn"), (0.59, "stop")])
def test_a_tenth_too_much_copper_is_warned_of_and_more_stops(second_mm2: float, severity: str) -> None:
    # By hand: 1.32 x 1.1 = 1.452 mm2; 0.87 + 0.58 = 1.45, 0.87 + 0.59 = 1.46.
    assert [f.severity for f in found(tight_by(second_mm2), "double_tight")] == [severity]


def test_where_the_builder_chose_nothing_wires_that_do_not_fit_together_are_spliced() -> None:
    # By hand: no wire is thin enough beside 16 AWG in a contact for 16 AWG.
    case = graphics(TWO_CONTACTS_FOR_THREE)
    assert (found(case, "double_tight"), {j.kind for j in plan(*case).runs[0].joints}) == ([], {"splice"})


@pytest.mark.parametrize(("load_a", "gauges"), [(12.0, [18, 18, 22]), (12.5, [18, 18, 18])])
def test_a_thinner_second_wire_is_taken_unasked_where_it_carries_its_current(load_a: float, gauges: list[int]) -> None:
    # By hand: two of 18 AWG are 1.74 mm2, a third over 1.32; 18 with 22 AWG are 0.87 + 0.34 = 1.21 mm2 (20 AWG: 1.40).
    # 22 AWG is rated 4 A with four to six circuits: 12 A on three wires are 4 A each, 12.5 A are 4.2 A; then a splice.
    build, own = graphics(TWO_CONTACTS_FOR_THREE, finish=RunFinish(awg=18))
    pinout = replace(own.pinouts["graphics-8"], load_a={"+12V": load_a})
    run = plan(build, replace(own, pinouts={**own.pinouts, "graphics-8": pinout})).runs[0]
    assert sorted(wire.awg for wire in run.wires if wire.net == "+12V") == gauges


# ---- currents and drop ----------------------------------------------------------------------------------------------


def test_a_contact_over_its_rating_names_how_many_plugs_it_carries() -> None:
    # By hand: five drives of 2 A are 10 A, and the contact is rated 8 A: four drives.
    finding = next(f for f in found(chain(5), "contact_current") if "+12V" in f.text)
    assert "4 plugs" in finding.way_out


def test_the_drop_of_a_cable_is_that_of_its_parallel_wires_out_and_back() -> None:
    # By hand: 5000 + 8 + 8 + 5 + 5 = 5026, cut at 5030 mm; 15.6 ohm/km make 78.47 mohm a wire, 19.62 mohm for four;
    # 26 A lose 0.510 V each way, 1.020 V of 12 V (8.5 %) and 26.5 W. 3 % are 0.360 V: 4 x 1.0201 / 0.360 = 11.3 wires,
    # or 5030 x 0.360 / 1.0201 = 1775.1 mm.
    finding = one(cpu(route=Route(5000)), "voltage_drop")
    assert [part in finding.text for part in ("1.020 V", "0.510 V out", "8.5 %", "0.360 V", "26.5 W")] == [True] * 5
    assert ("1775 mm" in finding.way_out, "12 wires" in finding.way_out) == (True, True)


def test_the_first_stretch_of_a_chain_carries_the_sum() -> None:
    # By hand, +5V of five drives with 1 A each: 400 + 400 mm of route make a wire of 815 mm with depth and reserve,
    # 415 mm of it to the first plug. 24.4 ohm/km: 5 A x 10.13 + (4 + 3 + 2 + 1) A x 2.44 mohm = 75.0 mV out. COM takes
    # 3 A a drive on two wires, half as much again on each: 112.5 mV back. Together 187.5 mV of 5 V; 3 % are 150 mV.
    # With four drives it is 4 x 10.13 + 6 x 2.44 = 55.1 mV out, 82.7 mV back, 137.8 mV: allowed.
    finding = next(f for f in found(chain(5), "voltage_drop") if "+5V" in f.text)
    told = float(re.search(r"loses ([\d.]+) V", finding.text)[1])  # type: ignore[index]
    # Five millimetres of cutting step are 1.5 mV.
    assert told == pytest.approx(0.1875, abs=0.0016)
    assert (found(chain(4), "voltage_drop"), "4 plugs" in finding.way_out) == ([], True)


def test_the_way_out_of_a_drop_is_the_thinnest_gauge_that_would_do() -> None:
    # By hand: 12.5 A on three 22 AWG wires of 1500 + 26 = 1526, cut at 1530 mm, 62.5 ohm/km: 95.6 mohm each; 398 mV
    # out, and on three loaded COM wires as much back: 797 mV. 20 AWG: 504 mV. 18 AWG: 311 mV, under 360 mV.
    finding = one(graphics(route=Route(1500), finish=RunFinish(awg=22)), "voltage_drop")
    assert ("0.797 V" in finding.text, "18 AWG" in finding.way_out) == (True, True)


# ---- sleeve, heat-shrink, combs -------------------------------------------------------------------------------------


def test_a_sleeve_that_does_not_pass_the_plug_names_the_size_that_does() -> None:
    # By hand: 70 mm round the plug are 22.28 mm; the large sleeve opens to 16 mm, the extra large one to 24 mm.
    finding = one(data_cable(sleeve="large"), "sleeve_fit")
    assert (finding.severity, "22.28 mm" in finding.text, "extra large" in finding.way_out) == ("stop", True, True)


def test_a_sleeve_that_hangs_loose_names_the_size_that_grips() -> None:
    # By hand: 16 AWG is 2.4 mm; the small sleeve grips 1.2 to 3.1 mm, the large one from 5 mm.
    finding = one(cpu(finish=RunFinish(sleeve="large")), "sleeve_fit")
    told = finding.severity, "2.4 mm" in finding.text, "small sleeve" in finding.way_out
    assert told == ("warn", True, True)


def test_a_sleeve_that_is_wrong_for_many_runs_alike_is_told_once() -> None:
    # By hand: a board's main and CPU inlet and a card's two are four runs of 16 AWG, 2.4 mm.
    shipped = shipped_catalogue()
    build = measured(built(shipped, "one-24", [("board-small", 1), ("graphics-2x8", 1)]))
    loose = replace(build, finish=replace(build.finish, sleeve="large"))
    finding = one((loose, shipped), "sleeve_fit")
    assert (finding.run, finding.text.startswith("Runs 1 to 4: large sleeve")) == (None, True)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [([1, 2], "Runs 1 and 2"), ([1, 2, 3], "Runs 1 to 3"), ([2, 3, 5, 6, 7, 8, 9], "Runs 2, 3 and 5 to 9")],
)
def test_runs_in_a_row_are_drawn_together(numbers: list[int], words: str) -> None:
    assert runs_words(numbers) == words


def test_combs_without_a_straight_place_are_left_out_and_told() -> None:
    # By hand: 36 moves to 20; 25 mm from it nothing is straight, so that two of three are left out.
    run = plan(*cpu(route=HARDLY_STRAIGHT)).runs[0]
    told = one(cpu(route=HARDLY_STRAIGHT), "comb_left_out").text
    assert ([place.at_mm for place in run.combs], "2 combs" in told) == ([20], True)


def test_no_listed_sleeve_is_said_where_none_would_do() -> None:
    case = without(data_cable(sleeve="large"), "sleeves", "extra")
    assert "no listed size" in one(case, "sleeve_fit").way_out


@pytest.mark.parametrize(
    ("size", "severity", "number"),
    [
        # By hand: 2.4 mm wire and 0.4 mm of braid all round are 3.2 mm. 3/16 in slides (4.75) and grips (2.36).
        pytest.param("s3-32", "stop", "3.2 mm", id="2.36 mm does not slide over 3.2 mm"),
        pytest.param("middle", "warn", "2.4 mm", id="3.18 mm recovered does not grip 2.4 mm"),
    ],
)
def test_heat_shrink_that_does_not_fit_names_a_size_that_does(size: str, severity: str, number: str) -> None:
    finding = one(cpu(finish=RunFinish(shrink_size=size)), "shrink_fit")
    assert (finding.severity, number in finding.text, "3/16 in" in finding.way_out) == (severity, True, True)


def test_a_loose_sleeve_end_asks_for_no_heat_shrink() -> None:
    assert found(cpu(finish=RunFinish(shrink_size="s3-32", sleeve_end="loose")), "shrink_fit") == []


def test_a_run_without_closed_combs_of_its_size_is_offered_open_ones() -> None:
    finding = one(without(cpu(), "combs", *(f"comb-{n}" for n in (8, 10, 12, 14, 16, 18, 24))), "no_comb")
    assert ("8 wires in 2 rows" in finding.text, "open comb, 8 ways" in finding.way_out) == (True, True)


def test_a_build_without_combs_asks_for_none() -> None:
    build, own = without(cpu(), "combs", *shipped_catalogue().combs)
    assert found((replace(build, finish=Finish(combs=False)), own), "no_comb") == []


def test_insulation_is_noted_once_for_a_build() -> None:
    build = built(shipped_catalogue(), "one-24", [("board-small", 1), ("drive-sata", 2)])
    assert len(found((build, shipped_catalogue()), "insulation_hardness")) == 1


def test_the_sense_lines_of_8_position_inlets_promise_no_600_w_however_many_wires_a_run_has() -> None:
    ports = [port(name, "p42-8g-plug", ["graphics"], EIGHTS) for name in "AB"]
    own = with_layout(shipped_catalogue(), layout(*ports))
    build = edits.add_custom_part(
        Build(name="Test", supply="test"), own, "graphics", "Card", ("graphics-8", "graphics-6"), ""
    )
    sources, ends = (PlugRef(SUPPLY, "A"), PlugRef(SUPPLY, "B")), (PlugRef("p1", "s1"), PlugRef("p1", "s2"))
    run = Run("r1", 1, sources, ends, branching="fork", route=Route(300))
    assert found((replace(build, runs=(run,), next_number=2), own), "full_power_told") == []
