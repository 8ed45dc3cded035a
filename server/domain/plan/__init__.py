"""Build in, plan out: the only place of the domain that sees every topic.

``compose`` runs the topics in order; ``wires`` makes the wires of one run, ``runs`` everything else about it,
``checks`` the findings, ``lists`` the cut list and labour, ``buying`` what is bought and how it is cut.
"""

from server.domain.plan.compose import NOTHING, plan, runs_alone
from server.domain.plan.methods import three_ways

__all__ = ["NOTHING", "plan", "runs_alone", "three_ways"]
