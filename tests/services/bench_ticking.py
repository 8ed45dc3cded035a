"""A build of the examples with everything bought for it, and ticks as a device sends them."""

from collections.abc import Iterable
from uuid import UUID, uuid5

from server.domain.model.bench import Material, Receive
from server.services.bench import BenchDesk
from server.services.bench_task_types import Task
from server.services.bench_tasks import tasks_of
from server.services.bench_tick_types import Tick, TickKind, TickResult
from server.services.bench_ticks import work_ticks
from server.services.builds import BuildDesk
from server.services.opened import Opened

NAMES = UUID("12345678-1234-5678-1234-567812345678")
AT = "2025-01-01T00:00:00+00:00"


def stocked(desk: BuildDesk, bench: BenchDesk, example: str) -> Opened:
    """An example with its whole buy list on the shelf, line by line as it is bought, but written in one go."""
    opened = desk.create_example(example)
    packs = {pack.id: pack for pack in opened.catalogue.packs}
    bought = [
        Receive(Material(line.kind, line.item, line.colour), pack.quantity, pack.price, "bought", opened.build_id)
        for line in opened.plan.buys
        for pack in (packs[ident] for ident, count in line.packs for _ in range(count))
    ]
    bench.write_all(bought)
    return desk.open(opened.build_id)


def all_tasks(desk: BuildDesk, build_id: str) -> dict[str, Task]:
    return {task.id: task for task in tasks_of(desk.open(build_id)).tasks}


def tick(task: Task, n: int = 1, kind: TickKind = "do", word: str = "", **more: object) -> Tick:
    """What a device sends for a task; the same task gives the same id, unless ``word`` tells them apart."""
    ident = str(uuid5(NAMES, f"{kind} {task.id} {word}"))
    return Tick(ident, n, kind, task.id, task.tick if kind == "do" else None, **more)  # type: ignore[arg-type]


def send(desk: BuildDesk, bench: BenchDesk, build_id: str, *ticks: Tick) -> tuple[TickResult, ...]:
    return work_ticks(desk, bench, build_id, "phone", ticks)


def ticks_of(tasks: dict[str, Task], ids: Iterable[str]) -> list[Tick]:
    """Ticks for everything open in an order; a run is tested by its sheet and not by a tick."""
    wanted = [tasks[ident] for ident in ids if tasks[ident].state == "open" and tasks[ident].kind != "test"]
    return [tick(task, n) for n, task in enumerate(wanted, start=1)]
