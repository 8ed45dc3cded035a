"""Whole builds at random: every value within what a document may hold, and every reference inside the build sound."""

from dataclasses import replace
from decimal import Decimal
from typing import get_args

from hypothesis import strategies as st

from server.domain.model.build import (
    SUPPLY,
    Allowances,
    Branching,
    Build,
    ColourMode,
    Finish,
    Part,
    PartKind,
    PlugRef,
    Rates,
    Route,
    Run,
    RunFinish,
    Skill,
    SleeveEnd,
    Socket,
    Spare,
    SpareOf,
)
from server.domain.model.catalogue import CombKind, Insulation, Use
from server.domain.model.route import RouteStep, StepKind

ids = st.from_regex(r"[a-z0-9][a-z0-9-]{0,10}", fullmatch=True).filter(lambda word: word != SUPPLY)
ports = st.from_regex(r"[A-Z][0-9]{1,2}", fullmatch=True)
lines = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=40)
names = lines.filter(lambda text: text.strip() != "")
colours = st.sampled_from(("BK", "WH", "RD", "TQ", "GN"))
patterns = st.lists(colours, max_size=6).map(tuple)
lengths = st.floats(min_value=0.001, max_value=5_000.0)
extras = st.floats(min_value=0.0, max_value=5_000.0)
amounts = st.decimals(min_value=0, max_value=1000, places=2)
gauges = st.integers(min_value=10, max_value=32)


tails = st.none() | st.floats(min_value=0.0, max_value=1_000.0)
allowed = st.floats(min_value=0.0, max_value=500.0)
turns = st.floats(min_value=0.1, max_value=360.0)
twists = turns | turns.map(lambda deg: -2 * deg)


@st.composite
def steps(draw: st.DrawFn) -> RouteStep:
    """A leg, a bend or a twist, short enough that a dozen of them stay inside a computer."""
    kind = draw(st.sampled_from(get_args(StepKind)))
    short = st.floats(min_value=0.001, max_value=300.0)
    if kind == "leg":
        return RouteStep(kind, length_mm=draw(short))
    if kind == "twist":
        return RouteStep(kind, length_mm=draw(short), angle_deg=draw(twists))
    return RouteStep(kind, angle_deg=draw(turns), radius_mm=draw(st.floats(min_value=0.1, max_value=60.0)))


@st.composite
def routes(draw: st.DrawFn) -> Route:
    spacing = tuple(draw(st.lists(extras, max_size=4)))
    known = draw(st.sampled_from(("length", "steps", "nothing")))
    length = draw(lengths) if known == "length" else None
    walked = tuple(draw(st.lists(steps(), min_size=1, max_size=8))) if known == "steps" else ()
    if draw(st.booleans()):
        return Route(length_mm=length, steps=walked, spacing_mm=spacing)
    low, likely, high = sorted((draw(lengths), draw(lengths), draw(lengths)))
    return Route(length, low, draw(st.sampled_from((None, likely))), high, walked, spacing)


run_finishes = st.builds(
    RunFinish,
    awg=st.none() | gauges,
    insulation=st.none() | st.sampled_from(get_args(Insulation)),
    colour_mode=st.none() | st.sampled_from(get_args(ColourMode)),
    pattern=st.none() | patterns,
    sleeve=st.none() | st.just("") | ids,
    sleeve_pattern=st.none() | patterns,
    sleeve_end=st.none() | st.sampled_from(get_args(SleeveEnd)),
    shrink_size=st.none() | st.just("") | ids,
    combs=st.none() | st.booleans(),
    comb_kind=st.none() | st.sampled_from(get_args(CombKind)),
)
finishes = st.builds(
    Finish,
    insulation=st.sampled_from(get_args(Insulation)),
    awg_by_use=st.dictionaries(st.sampled_from(get_args(Use)), gauges, max_size=4),
    colour_mode=st.sampled_from(get_args(ColourMode)),
    pattern=patterns,
    sleeve=st.just("") | ids,
    sleeve_pattern=patterns,
    sleeve_end=st.sampled_from(get_args(SleeveEnd)),
    shrink_size=st.just("") | ids,
    combs=st.booleans(),
    comb_kind=st.sampled_from(get_args(CombKind)),
)
spares = st.builds(
    Spare, percent=st.floats(min_value=0, max_value=1000), least=st.integers(min_value=0, max_value=10_000)
)
allowances = st.builds(
    Allowances,
    depth_mm=st.dictionaries(ids, allowed, max_size=3),
    strip_mm=st.dictionaries(ids, allowed, max_size=3),
    recrimp_mm=allowed,
    recrimp_by_family=st.dictionaries(ids, allowed, max_size=3),
    slack_mm=allowed,
    step_mm=st.floats(min_value=0.5, max_value=1000),
    fray_mm=allowed,
    cut_loss_mm=st.integers(min_value=0, max_value=20),
    remnant_least_mm=st.integers(min_value=0, max_value=2_000),
    skill=st.sampled_from(get_args(Skill)),
    spares=st.dictionaries(st.sampled_from(get_args(SpareOf)), spares),
)
rates = st.builds(
    Rates,
    currency=st.sampled_from(("EUR", "GBP", "JPY")),
    hourly=amounts,
    overhead_percent=amounts,
    margin_percent=amounts,
    tax_percent=amounts,
)


@st.composite
def parts(draw: st.DrawFn) -> tuple[Part, ...]:
    made = []
    for part_id in draw(st.lists(ids, max_size=4, unique=True)):
        sockets = tuple(Socket(each, draw(ids)) for each in draw(st.lists(ids, min_size=1, max_size=3, unique=True)))
        made.append(Part(part_id, draw(st.sampled_from(get_args(PartKind))), draw(lines), sockets, draw(lines)))
    return tuple(made)


@st.composite
def builds(draw: st.DrawFn) -> Build:
    """A build whose runs go from ports of the supply to sockets of its own parts."""
    made = draw(parts())
    places = [(part.id, socket.id) for part in made for socket in part.sockets]
    runs = []
    for number, run_id in enumerate(draw(st.lists(ids, max_size=4, unique=True)) if places else [], start=1):
        sources = tuple(PlugRef(SUPPLY, draw(ports), draw(extras), draw(tails)) for _ in range(draw(st.integers(1, 2))))
        chosen = draw(st.lists(st.sampled_from(places), min_size=1, max_size=3))
        ends = tuple(PlugRef(part, socket, draw(extras), draw(tails)) for part, socket in chosen)
        run = Run(run_id, number, sources, ends, draw(lines), draw(routes()), draw(run_finishes), ("5",))
        runs.append(replace(run, branching=draw(st.sampled_from(get_args(Branching)))))
    return Build(
        name=draw(names),
        supply=draw(st.just("") | ids),
        parts=made,
        runs=tuple(runs),
        finish=draw(finishes),
        allowances=draw(allowances),
        rates=draw(rates),
        client=draw(lines),
        notes=draw(lines),
        prices=draw(st.dictionaries(ids, st.decimals(min_value=Decimal(0), max_value=100, places=3), max_size=4)),
        next_number=len(runs) + draw(st.integers(1, 5)),
        next_part=draw(st.integers(1, 1000)),
    )
