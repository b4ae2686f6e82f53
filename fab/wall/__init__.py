"""Hangers, statics, hanging order and template pages."""
