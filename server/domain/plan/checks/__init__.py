"""Findings: what would stop the work, what to look at, what to know; each with numbers, source and one way out.

``supply`` looks at the build as a whole, ``wiring``, ``lengths``, ``contacts``, ``sharing``, ``cover``, ``loads`` and
``drop`` each at one run; ``gather`` asks them all. ``told`` holds their common words, ``suits`` looks for a way out.
"""

from server.domain.plan.checks.gather import bought_findings, findings_of, in_order

__all__ = ["bought_findings", "findings_of", "in_order"]
