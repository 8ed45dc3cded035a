"""What a build may hold: one case per rule, with the field beside which its message is shown. Expected: the rules."""

import math
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from server.domain import edits
from server.domain.limits import length_problem, problems
from server.domain.model.build import (
    SUPPLY,
    Allowances,
    Build,
    Finish,
    Part,
    Pinned,
    PlugRef,
    Rates,
    Route,
    Run,
    RunFinish,
    Socket,
    Spare,
)
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from tests.domain.scenes import built

Change = Callable[[Build], Build]


@pytest.fixture
def build(catalogue: Catalogue) -> Build:
    """p1 board, p2 card on r3 from G1, p3 and p4 drives chained."""
    return built(catalogue, "one-24", [("board-small", 1), ("graphics-8", 1), ("drive-sata", 2)])


def run(**fields: object) -> Change:
    return lambda b: edits.change_run(b, "r3", **fields)


def route(**fields: object) -> Change:
    return run(route=Route(**fields))  # type: ignore[arg-type]


def chain_of(length_mm: float, spacing_mm: float) -> Change:
    """The drives' chain of two plugs, route and spacing together."""
    return lambda b: edits.change_run(b, "r4", route=Route(length_mm=length_mm, spacing_mm=(spacing_mm,)))


def spacing(mm: float) -> Change:
    """The drives' chain of two plugs, with one spacing."""
    return lambda b: edits.change_run(b, "r4", route=Route(length_mm=300.0, spacing_mm=(mm,)))


def whole(**fields: object) -> Change:
    return lambda b: replace(b, **fields)  # type: ignore[arg-type]


def parts(*added: Part) -> Change:
    return lambda b: replace(b, parts=(*b.parts, *added))


def runs(*added: Run) -> Change:
    return lambda b: replace(b, runs=(*b.runs, *added), next_number=90)


def steps(step: RouteStep) -> Change:
    """One step behind a leg that is in order."""
    return route(steps=(LEG, step))


def fork(**fields: object) -> Change:
    """The drives' run made a fork of two plugs."""
    return lambda b: edits.change_run(b, "r4", **{"branching": "fork", "route": Route(), **fields})


def allowing(**fields: object) -> Change:
    return whole(allowances=Allowances(**fields))  # type: ignore[arg-type]


LEG = RouteStep("leg", length_mm=200.0)
BEND = RouteStep("left", angle_deg=90.0, radius_mm=60.0)
TWIST = RouteStep("twist", length_mm=80.0, angle_deg=-90.0)
CARD = (PlugRef("p2", "power1"),)
PORT = (PlugRef(SUPPLY, "G3"),)
SPARE_CARD = Part("p9", "graphics", "Spare", (Socket("power1", "graphics-8"),))

REFUSED: list[tuple[str, Change, str]] = [
    ("a build without a name", whole(name="  "), "name"),
    ("a name too long", whole(name="n" * 201), "name"),
    ("a client too long", whole(client="n" * 201), "client"),
    ("notes too long", whole(notes="n" * 5001), "notes"),
    ("a supply nobody knows", whole(supply="none-such"), "supply"),
    ("more parts than a computer holds", parts(*(replace(SPARE_CARD, id=f"q{n}") for n in range(200))), "count"),
    ("a part id twice", parts(replace(SPARE_CARD, id="p2")), "parts"),
    ("a part called supply", parts(replace(SPARE_CARD, id=SUPPLY)), "parts.supply"),
    ("a part without a name", parts(replace(SPARE_CARD, name=" ")), "parts.p9.name"),
    ("a part name too long", parts(replace(SPARE_CARD, name="n" * 201)), "parts.p9.name"),
    ("a socket id twice", parts(replace(SPARE_CARD, sockets=SPARE_CARD.sockets * 2)), "parts.p9.sockets"),
    ("a pinout nobody knows", parts(Part("p9", "other", "x", (Socket("s1", "no"),))), "parts.p9.sockets.s1"),
    ("a run id twice", runs(Run("r3", 80, PORT, (PlugRef("p9", "x"),))), "runs"),
    ("a run number twice", runs(Run("r80", 3, (), ())), "runs"),
    ("a run number that is still to come", lambda b: replace(b, next_number=3), "next_number"),
    ("a run name too long", run(name="n" * 201), "runs.r3.name"),
    ("a run without an end", run(ends=()), "runs.r3.ends"),
    ("an end that no part has", run(ends=(PlugRef("p2", "power9"),)), "runs.r3.ends"),
    ("an end that gives", run(ends=(PlugRef("p1", "fan1"),)), "runs.r3.ends"),
    ("an end in the supply", run(ends=(PlugRef(SUPPLY, "G2"),)), "runs.r3.ends"),
    ("an inlet fed by two runs", runs(Run("r80", 80, PORT, CARD)), "runs.r80.ends"),
    ("an inlet twice on one run", run(ends=CARD * 2), "runs.r3.ends"),
    ("a header that no part has", run(sources=(PlugRef("p1", "fan9"),)), "runs.r3.sources"),
    ("a run that starts at an inlet", run(sources=(PlugRef("p1", "main"),)), "runs.r3.sources"),
    ("a port twice on one run", run(sources=PORT * 2), "runs.r3.sources"),
    ("more than four source plugs", run(sources=tuple(PlugRef(SUPPLY, f"P{n}") for n in range(5))), "runs.r3.sources"),
    ("a length of zero", route(length_mm=0.0), "runs.r3.length"),
    ("a negative length", route(length_mm=-1.0), "runs.r3.length"),
    ("a length of metres", route(length_mm=5000.5), "runs.r3.length"),
    ("a length that is no number", route(length_mm=math.nan), "runs.r3.length"),
    ("an endless length", route(length_mm=math.inf), "runs.r3.length"),
    ("a range without a low end", route(high_mm=300.0), "runs.r3.low"),
    ("a range without a high end", route(low_mm=300.0), "runs.r3.high"),
    ("a range upside down", route(low_mm=300.0, high_mm=299.0), "runs.r3.high"),
    ("a likely length without a range", route(likely_mm=300.0), "runs.r3.likely"),
    ("a likely length with half a range", route(low_mm=200.0, likely_mm=300.0), "runs.r3.high"),
    ("a likely length below its range", route(low_mm=200.0, likely_mm=199.0, high_mm=300.0), "runs.r3.likely"),
    ("a likely length above its range", route(low_mm=200.0, likely_mm=301.0, high_mm=300.0), "runs.r3.likely"),
    ("a likely length that is no number", route(low_mm=2.0, likely_mm=math.nan, high_mm=3.0), "runs.r3.likely"),
    ("a length and legs", route(length_mm=300.0, steps=(LEG,)), "runs.r3.length"),
    ("a leg of zero", steps(RouteStep("leg")), "runs.r3.steps.1.length"),
    ("a leg that is no number", steps(replace(LEG, length_mm=math.nan)), "runs.r3.steps.1.length"),
    ("an endless leg", steps(replace(LEG, length_mm=math.inf)), "runs.r3.steps.1.length"),
    ("a leg that turns", steps(replace(LEG, angle_deg=5.0)), "runs.r3.steps.1.angle"),
    ("a leg with a radius", steps(replace(LEG, radius_mm=5.0)), "runs.r3.steps.1.radius"),
    ("a bend that does not turn", steps(replace(BEND, angle_deg=0.0)), "runs.r3.steps.1.angle"),
    ("a bend backwards", steps(replace(BEND, angle_deg=-90.0)), "runs.r3.steps.1.angle"),
    ("a bend past a whole turn", steps(replace(BEND, angle_deg=361.0)), "runs.r3.steps.1.angle"),
    ("a bend that is no number", steps(replace(BEND, angle_deg=math.nan)), "runs.r3.steps.1.angle"),
    ("a bend without a radius", steps(replace(BEND, radius_mm=0.0)), "runs.r3.steps.1.radius"),
    ("a bend of metres", steps(replace(BEND, radius_mm=1000.5)), "runs.r3.steps.1.radius"),
    ("a bend with a length", steps(replace(BEND, length_mm=5.0)), "runs.r3.steps.1.length"),
    ("a twist that does not turn", steps(replace(TWIST, angle_deg=0.0)), "runs.r3.steps.1.angle"),
    ("a twist past two turns", steps(replace(TWIST, angle_deg=-720.5)), "runs.r3.steps.1.angle"),
    ("a twist that is no number", steps(replace(TWIST, angle_deg=math.nan)), "runs.r3.steps.1.angle"),
    ("a twist on the spot", steps(replace(TWIST, length_mm=0.0)), "runs.r3.steps.1.length"),
    ("a twist with a radius", steps(replace(TWIST, radius_mm=5.0)), "runs.r3.steps.1.radius"),
    ("legs without end", route(steps=(replace(LEG, length_mm=1.0),) * 2001), "runs.r3.steps"),
    ("legs of metres together", route(steps=(replace(LEG, length_mm=2501.0),) * 2), "runs.r3.steps"),
    ("a low end of zero", route(low_mm=0.0, high_mm=299.0), "runs.r3.low"),
    ("a spacing on a run of one plug", route(length_mm=300.0, spacing_mm=(50.0,)), "runs.r3.spacing"),
    ("a spacing that is no number", spacing(math.nan), "runs.r4.spacing"),
    ("a chain that ends too far away", chain_of(4950.0, 51.0), "runs.r4.spacing"),
    ("a spacing of zero", spacing(0.0), "runs.r4.spacing"),
    ("a negative extra reach at the supply", run(sources=(PlugRef(SUPPLY, "G1", -1.0),)), "runs.r3.sources.0.extra"),
    ("an extra reach of metres at the part", run(ends=(PlugRef("p2", "power1", 1001.0),)), "runs.r3.ends.0.extra"),
    ("an extra reach that is no number", run(ends=(PlugRef("p2", "power1", math.nan),)), "runs.r3.ends.0.extra"),
    ("a negative tail", run(sources=(PlugRef(SUPPLY, "G1", tail_mm=-1.0),)), "runs.r3.sources.0.tail"),
    ("a tail of metres", run(ends=(PlugRef("p2", "power1", tail_mm=1001.0),)), "runs.r3.ends.0.tail"),
    ("a tail that is no number", run(ends=(PlugRef("p2", "power1", tail_mm=math.nan),)), "runs.r3.ends.0.tail"),
    ("a fork of one plug", run(branching="fork"), "runs.r3.ends"),
    ("a fork of five plugs", fork(ends=tuple(PlugRef(f"p{n}", "power") for n in range(3, 8))), "runs.r4.ends"),
    ("a fork with a spacing", fork(route=Route(length_mm=300.0, spacing_mm=(50.0,))), "runs.r4.spacing"),
    ("a fork pinned in another plug", fork(pins=(Pinned("16", SUPPLY, "P1", "1"),)), "runs.r4.pins"),
    ("a gauge nobody sells", run(finish=RunFinish(awg=17)), "runs.r3.finish.awg"),
    ("a sleeve nobody knows", run(finish=RunFinish(sleeve="silk")), "runs.r3.finish.sleeve"),
    ("a run's colour nobody knows", run(finish=RunFinish(pattern=("ZZ",))), "runs.r3.finish.pattern"),
    ("a run's pattern without a colour", run(finish=RunFinish(pattern=())), "runs.r3.finish.pattern"),
    ("a run's sleeve colour", run(finish=RunFinish(sleeve_pattern=("ZZ",))), "runs.r3.finish.sleeve_pattern"),
    ("a run's heat-shrink nobody knows", run(finish=RunFinish(shrink_size="none")), "runs.r3.finish.shrink_size"),
    ("a gauge by use nobody sells", whole(finish=Finish(awg_by_use={"cpu": 17})), "finish.awg.cpu"),
    ("a pattern without a colour", whole(finish=Finish(pattern=())), "finish.pattern"),
    ("a pattern without end", whole(finish=Finish(pattern=("BK",) * 49)), "finish.pattern"),
    ("a wire colour nobody knows", whole(finish=Finish(pattern=("BK", "ZZ"))), "finish.pattern"),
    ("a sleeve colour nobody knows", whole(finish=Finish(sleeve_pattern=("ZZ",))), "finish.sleeve_pattern"),
    ("the build's sleeve nobody knows", whole(finish=Finish(sleeve="silk")), "finish.sleeve"),
    ("the build's heat-shrink nobody knows", whole(finish=Finish(shrink_size="none")), "finish.shrink_size"),
    ("a negative reserve", allowing(recrimp_mm=-1), "allowances.recrimp"),
    ("a reserve that is no number", allowing(recrimp_mm=math.nan), "allowances.recrimp"),
    ("a slack of more than half a metre", allowing(slack_mm=500.5), "allowances.slack"),
    ("a step of zero", allowing(step_mm=0), "allowances.step"),
    ("a negative fray", allowing(fray_mm=-1), "allowances.fray"),
    ("a negative cutting loss", allowing(cut_loss_mm=-1), "allowances.cut_loss"),
    ("a cutting loss no tool has", allowing(cut_loss_mm=21), "allowances.cut_loss"),
    ("a negative remnant", allowing(remnant_least_mm=-1), "allowances.remnant_least"),
    ("a remnant longer than two metres", allowing(remnant_least_mm=2001), "allowances.remnant_least"),
    ("a skill nobody knows", allowing(skill="wizard"), "allowances.skill"),
    ("the depth of a family nobody knows", allowing(depth_mm={"none": 5.0}), "allowances.depth.none"),
    ("a negative depth", allowing(depth_mm={"p42": -1.0}), "allowances.depth.p42"),
    ("a depth no housing has", allowing(depth_mm={"p42": 100.5}), "allowances.depth.p42"),
    ("the reserve of a family nobody knows", allowing(recrimp_by_family={"none": 5.0}), "allowances.recrimp.none"),
    ("the reserve of a family, negative", allowing(recrimp_by_family={"p42": -1.0}), "allowances.recrimp.p42"),
    ("the strip of a contact nobody knows", allowing(strip_mm={"none": 4.0}), "allowances.strip.none"),
    ("a strip that is no number", allowing(strip_mm={"p42-pin-16": math.nan}), "allowances.strip.p42-pin-16"),
    ("negative spares", allowing(spares={"contacts": Spare(-1, 2)}), "allowances.spares.contacts.percent"),
    ("spares beyond reason", allowing(spares={"shrink": Spare(501, 2)}), "allowances.spares.shrink.percent"),
    ("fewer than no spares", allowing(spares={"contacts": Spare(0, -1)}), "allowances.spares.contacts.least"),
    ("spare combs without end", allowing(spares={"combs": Spare(0, 51)}), "allowances.spares.combs.least"),
    ("spares of something else", allowing(spares={"screws": Spare(0, 5)}), "allowances.spares.screws"),
    ("a currency that is no code", whole(rates=Rates(currency="euro")), "rates.currency"),
    ("a negative hourly rate", whole(rates=Rates(hourly=Decimal(-1))), "rates.hourly"),
    ("a rate that is no number", whole(rates=Rates(hourly=Decimal("NaN"))), "rates.hourly"),
    ("an overhead out of range", whole(rates=Rates(overhead_percent=Decimal(501))), "rates.overhead"),
    ("a margin out of range", whole(rates=Rates(margin_percent=Decimal(-1))), "rates.margin"),
    ("an endless tax", whole(rates=Rates(tax_percent=Decimal("Infinity"))), "rates.tax"),
    ("the price of a pack nobody knows", whole(prices={"no-pack": Decimal(1)}), "prices.no-pack"),
    ("a negative price", whole(prices={"sleeve-small-5000": Decimal(-1)}), "prices.sleeve-small-5000"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), [pytest.param(c, f, id=name) for name, c, f in REFUSED])
def test_a_build_out_of_its_limits_is_refused_at_the_field(
    build: Build, catalogue: Catalogue, change: Change, field: str
) -> None:
    assert field in {problem.field for problem in problems(change(build), catalogue)}


ACCEPTED: list[tuple[str, Change]] = [
    ("the build as proposed", lambda b: b),
    ("a length at the limit", route(length_mm=5000.0)),
    ("a range of one length", route(low_mm=300.0, high_mm=300.0)),
    ("no length at all", route()),
    ("a likely length at the end of its range", route(low_mm=200.0, likely_mm=300.0, high_mm=300.0)),
    ("a measured length outside its range", route(length_mm=310.0, low_mm=200.0, likely_mm=250.0, high_mm=300.0)),
    ("legs and bends beside a range", route(steps=(LEG, BEND, TWIST), low_mm=200.0, high_mm=300.0)),
    ("a whole turn of the greatest radius", steps(RouteStep("down", angle_deg=360.0, radius_mm=700.0))),
    ("two turns of twist", steps(replace(TWIST, angle_deg=-720.0))),
    ("two thousand short legs", route(steps=(replace(LEG, length_mm=2.5),) * 2000)),
    ("tails at their limits", run(ends=(PlugRef("p2", "power1", tail_mm=1000.0),))),
    ("no tail at all", run(ends=(PlugRef("p2", "power1", tail_mm=0.0),))),
    ("a fork of two plugs", fork()),
    ("a fork pinned in its first plug", fork(pins=(Pinned("1", SUPPLY, "P1", "1"),))),
    ("allowances at their limits", allowing(recrimp_mm=500.0, slack_mm=500.0, fray_mm=0.0, step_mm=100.0)),
    ("loss and remnant at their limits", allowing(cut_loss_mm=20, remnant_least_mm=2000)),
    ("no loss, every remnant kept", allowing(cut_loss_mm=0, remnant_least_mm=0)),
    ("allowances by family and contact", allowing(depth_mm={"p42": 12.0}, strip_mm={"p42-pin-16": 4.0})),
    ("spares at their limits", allowing(spares={"combs": Spare(0, 50), "shrink": Spare(500, 1000)})),
    ("a heat-shrink of the list", whole(finish=Finish(shrink_size="middle"))),
    ("a port that the layout no longer has", run(sources=(PlugRef(SUPPLY, "X1"),))),
    ("a run that waits for its source", run(sources=())),
    ("extra reach at the limit", run(ends=(PlugRef("p2", "power1", 1000.0),))),
    ("no supply yet", whole(supply="")),
    ("a run that is left bare", run(finish=RunFinish(sleeve=""))),
    ("a price of nothing", whole(prices={"sleeve-small-5000": Decimal(0)})),
]


@pytest.mark.parametrize("change", [pytest.param(c, id=name) for name, c in ACCEPTED])
def test_a_build_within_its_limits_is_accepted(build: Build, catalogue: Catalogue, change: Change) -> None:
    assert problems(change(build), catalogue) == ()


def test_every_message_is_a_sentence_for_a_person(build: Build, catalogue: Catalogue) -> None:
    messages = [p.message for _, change, _ in REFUSED for p in problems(change(build), catalogue)]
    assert [m for m in messages if len(m.split()) < 3] == []


@pytest.mark.parametrize("value", [0.0, -3.0, 5000.1, math.nan, math.inf])
def test_a_length_that_no_route_has_is_told_in_words(value: float) -> None:
    assert length_problem(value) != ""


@pytest.mark.parametrize("value", [None, 0.1, 5000.0])
def test_a_length_that_a_route_may_have_is_no_problem(value: float | None) -> None:
    assert length_problem(value) == ""
