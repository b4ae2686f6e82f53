"""Placed panels, joints, open edges and base kinds: pure geometry."""
