"""Loomwright: a planner for hand-made internal computer cables."""
