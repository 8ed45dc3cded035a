"""Build in, plan out: the only place of the domain that sees every topic.

``groundwork`` plans what follows from the build alone, ``compose`` adds what the shelf and the bench say; ``wires``
makes the wires of one run, ``runs`` everything else about it, ``checks`` the findings, ``lists`` the cut list and
labour, ``buying`` what is bought and how it is cut.
"""

from server.domain.plan.compose import NOTHING, plan, plan_on, runs_alone
from server.domain.plan.groundwork import Groundwork, groundwork
from server.domain.plan.methods import three_ways

__all__ = ["NOTHING", "Groundwork", "groundwork", "plan", "plan_on", "runs_alone", "three_ways"]
