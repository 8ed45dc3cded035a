"""Frozen view classes: everything a template shows, already worded, rounded and converted."""
