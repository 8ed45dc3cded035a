"""A build as it is handed to a screen or a program: one revision and the plan that follows from it."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from server.domain.model.bench import OnHand
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import MethodFigures, Plan
from server.domain.plan import NOTHING, three_ways

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Opened:
    """One build at one revision."""

    build_id: str
    revision: int
    saved_at: str
    """Moment of saving, ISO 8601 in UTC."""
    build: Build
    plan: Plan
    catalogue: Catalogue
    on_hand: OnHand = NOTHING
    """What the build may use of the shelf, and what was made for it, as the plan was made with."""
    ledger: int = 0
    """Number of the ledger's last entry at that moment."""
    _made: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)
    _lasting: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)
    """Shared by everything that is opened of one revision, whatever the ledger says."""

    def three_ways(self, run_id: str) -> tuple[MethodFigures, ...]:
        """The three ways to build a run, side by side; empty where there is no choice."""
        return self.lasting(f"three ways {run_id}", lambda: three_ways(self.build, self.catalogue, run_id))

    def once(self, name: str, make: Callable[[], T]) -> T:
        """What follows from this plan and is asked for again and again, such as a drawing: made at its first asking.

        Args:
            name: Tells it from everything else that is made of the same plan.
            make: Makes it; must depend on nothing but this opened build and ``name``.
        """
        if name not in self._made:
            self._made[name] = make()
        made: T = self._made[name]
        return made

    def lasting(self, name: str, make: Callable[[], T]) -> T:
        """Like ``once``, for what no entry of the ledger changes, such as a picture of a plug.

        Args:
            name: Tells it from everything else that is made of the same revision.
            make: Makes it; must depend on nothing but the build, the catalogue, the planned runs and ``name``.
        """
        if name not in self._lasting:
            self._lasting[name] = make()
        made: T = self._lasting[name]
        return made

    def bare(self) -> "Opened":
        """The same without what was made of it, to be handed to another process."""
        return replace(self, _made={}, _lasting={})


@dataclass(frozen=True, slots=True)
class ExampleInfo:
    """An example build that can be opened as a build of one's own."""

    id: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class ShareInfo:
    """A share link in force, without its secret."""

    id: str
    created_at: str
