"""Build in, plan out: the only place of the domain that sees every topic.

``compose`` runs the topics in order; ``wires`` makes the wires of one run, ``runs`` everything else about it,
``checks`` the findings, ``lists`` the cut list, buy list, tools and labour.
"""

from server.domain.plan.compose import plan
from server.domain.plan.methods import three_ways

__all__ = ["plan", "three_ways"]
