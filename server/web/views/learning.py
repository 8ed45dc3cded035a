"""What the bench measured, beside what the tables count with, and what a build would come to with it."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.learning import STEP_MINUTES, TIMED_LEAST, MeasuredTime
from server.domain.losses import USED_LEAST, Loss, MeasuredLoss
from server.domain.model.build import Spare
from server.domain.model.plan import Estimate
from server.services.learning import LearnedLoss, LearnedTime, bench_source, timed_words, took_words
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.allowances import SPARE_NAMES
from server.web.views.bench_address import bench_href
from server.web.views.fields import Field, Fields, field_id

NONE_OF_IT = "This build has none of it, so its price stays."


@dataclass(frozen=True, slots=True)
class Choice:
    """One click: what its button says and sends, and what this build comes to with it."""

    word: str
    about: str
    """What the button speaks of, read out but not shown."""
    value: str
    effect: str


@dataclass(frozen=True, slots=True)
class LearnedRow:
    """One operation of the labour table as it was timed."""

    id: str
    operation: str
    name: str
    words: str
    note: str
    use: Choice | None
    """Takes the measured minutes; ``None`` where none are suggested."""
    back: Choice | None
    """Goes back to the shipped minutes; ``None`` where they stand."""
    problem: str


@dataclass(frozen=True, slots=True)
class SpareRow:
    """One kind of spare as it was measured."""

    id: str
    of: str
    name: str
    words: str
    note: str
    use: Choice | None
    percent: str
    least: str
    problem: str


@dataclass(frozen=True, slots=True)
class Learned:
    """What the bench measured, as a part of the estimate, and the form that writes a time down."""

    rows: tuple[LearnedRow, ...]
    spares: tuple[SpareRow, ...]
    rule: str
    """From when on, and how finely, minutes are suggested."""
    spares_rule: str
    minutes_href: str
    shipped_href: str
    spares_href: str
    times_href: str
    ledger_href: str
    bench_href: str
    base: int
    """Revision that taking a spare changes."""
    ledger: int
    """Last number of the ledger as it is shown."""
    operation: Field
    count: Field
    taken: Field


@dataclass(frozen=True, slots=True)
class StockNote:
    """What the bench measured of a row of the labour list."""

    words: str
    minutes: str
    """Measured minutes to take; empty where none are suggested."""
    source: str
    """What the row names as its source once they were taken."""


def learned(
    opened: Opened, times: Iterable[LearnedTime], losses: Iterable[LearnedLoss], base: int, fields: Fields
) -> Learned:
    """The part of the estimate that says what the bench measured.

    Args:
        opened: The build as it stands.
        times: Every operation that was timed.
        losses: Every kind of spare that was used or lost.
        base: Revision that the forms change.
        fields: Makes the fields with what was typed last.
    """
    here = f"/builds/{opened.build_id}/estimate"
    labour = opened.catalogue.labour.values()
    return Learned(
        rows=tuple(_row(found, opened, fields) for found in times),
        spares=tuple(_spare_row(found, opened, fields) for found in losses),
        rule=f"From {TIMED_LEAST} timed on, and in steps of {minutes_words(STEP_MINUTES)} min.",
        spares_rule=f"From {USED_LEAST} used on; twice what was lost, at least what the worst run lost.",
        minutes_href=f"{here}/minutes",
        shipped_href=f"{here}/shipped",
        spares_href=f"{here}/spares",
        times_href=f"{here}/times",
        ledger_href=f"/builds/{opened.build_id}/ledger",
        bench_href=bench_href(opened.build_id),
        base=base,
        ledger=opened.ledger,
        operation=fields.choice("time.operation", "Operation", "", ((entry.operation, entry.name) for entry in labour)),
        count=fields.text("time.count", "How many", ""),
        taken=fields.text("time.taken", "In how long", "", unit="min:s"),
    )


def stock_notes(times: Iterable[MeasuredTime]) -> dict[str, StockNote]:
    """What the bench measured, by row of the labour list."""
    return {
        found.operation: StockNote(
            f"From your bench: {minutes_words(found.minutes)} min each, {timed_words(found.timed)}{_few(found)}.",
            minutes_words(found.minutes) if found.state == "differs" else "",
            bench_source(found.timed),
        )
        for found in times
    }


def minutes_words(minutes: Decimal) -> str:
    """Minutes of one operation, with two digits behind the point or as many as were set."""
    text = formats.amount(minutes)
    whole, _, rest = text.partition(".")
    return f"{whole}.{rest:0<2}"


def taken_message(name: str, minutes: Decimal) -> str:
    """What to say once other minutes count."""
    return f"{name[:1].upper()}{name[1:]}: {minutes_words(minutes)} min each from now on, in every build."


def _few(found: MeasuredTime) -> str:
    return f"; {found.missing} more are needed" if found.missing else ""


def _row(found: LearnedTime, opened: Opened, fields: Fields) -> LearnedRow:
    measured = found.measured
    name = f"learned.{measured.operation}"
    used = any(line.operation == measured.operation for line in opened.plan.estimate.labour)
    minutes, shipped = minutes_words(measured.minutes), minutes_words(measured.shipped)
    use = Choice(f"Use {minutes}", f" min to {measured.name}", minutes, _effect(opened, found.after, used=used))
    back = Choice(f"Back to {shipped}", f" min to {measured.name}", "", _effect(opened, found.back, used=used))
    here = f", {measured.here.count} of them at this build" if measured.here.count else ", none of them at this build"
    own = f"; shipped {shipped}" if measured.now != measured.shipped else ""
    return LearnedRow(
        id=field_id(name),
        operation=measured.operation,
        name=measured.name,
        words=_words(measured),
        note=f"in {took_words(measured.timed.seconds)}{here}{own}",
        use=use if measured.state == "differs" else None,
        back=back if measured.now != measured.shipped else None,
        problem=fields.text(name, measured.name, "").problem,
    )


def _words(found: MeasuredTime) -> str:
    took = f"your {found.timed.count} timed took {minutes_words(found.minutes)} min each"
    table = f"the table says {minutes_words(found.now)}"
    if found.state == "agrees":
        return f"{took}, as the table says" if found.minutes == found.now else f"{took}; {table}, near enough"
    if found.state == "few":
        return f"{took}; {table}, which stands until {found.missing} more are timed"
    return f"{took}; {table}"


def _effect(opened: Opened, after: Estimate, *, used: bool) -> str:
    """What the build comes to, before and after a click."""
    if not used:
        return NONE_OF_IT
    before = opened.plan.estimate
    hours = f"{formats.hours(before.minutes)} → {formats.hours(after.minutes)}"
    return f"This build: {hours}, {_money(before, after)}."


def _money(before: Estimate, after: Estimate) -> str:
    return f"{formats.money(before.total, before.currency)} → {formats.money(after.total, after.currency)}"


def _spare_row(found: LearnedLoss, opened: Opened, fields: Fields) -> SpareRow:
    measured = found.measured
    name = f"learned.{measured.of}"
    before = opened.plan.estimate
    use = None
    if found.after is not None:
        same = found.after.total == before.total
        effect = f"This build: {formats.money(before.total, before.currency)} as before." if same else ""
        effect = effect or f"This build: {_money(before, found.after)}."
        use = Choice(f"Use {_spare_words(measured.spare)}", f" as spare {SPARE_NAMES[measured.of]}", "", effect)
    return SpareRow(
        id=field_id(name),
        of=measured.of,
        name=SPARE_NAMES[measured.of],
        words=_loss_words(measured),
        note=_ways_words(measured.loss),
        use=use,
        percent=formats.number(measured.spare.percent, 2),
        least=str(measured.spare.least),
        problem=fields.text(name, SPARE_NAMES[measured.of], "").problem,
    )


def _loss_words(found: MeasuredLoss) -> str:
    loss = found.loss
    lost = f"{loss.lost} lost on {loss.used} used, {formats.number(found.percent, 1)} %"
    now = f"this build counts with {_spare_words(found.now)}"
    if found.state == "few":
        return f"{lost}; {now}, which stands until {USED_LEAST} are used"
    if found.state == "agrees":
        return f"{lost}; {now}, as that suggests"
    return f"{lost}; {now}, that suggests {_spare_words(found.spare)}"


def _ways_words(loss: Loss) -> str:
    """In which ways things were lost."""
    ways = (
        (loss.with_wires, "with wires thrown away, cut shorter or put back"),
        (loss.beyond, "taken beyond the plan"),
        (loss.thrown, "thrown away from stock"),
    )
    told = [f"{number} {way}" for number, way in ways if number]
    told += [f"the worst run lost {loss.worst}"] if loss.worst else []
    return formats.listed((*told, f"{formats.count(loss.runs, 'run')} begun, all builds together"))


def _spare_words(spare: Spare) -> str:
    return f"{formats.number(spare.percent, 2)} %, at least {spare.least}"
