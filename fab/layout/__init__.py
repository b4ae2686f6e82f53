"""Placed panels, joints, open edges and base kinds: pure geometry.

In come the panels of a job as cells of a lattice, or as "sits on edge 2 of B"; `place` turns both
into poses (x, y, rotation), so nothing behind it knows of lattices. `find` then reads the joints
from the poses alone: two edges that lie on each other and run opposite ways. Out goes a frozen
`Layout` (`model`); `kinds` says which base each panel needs, `joint_table` what connects each
joint, `within` fills a region with the most cells.

The one idea: geometry decides. A joint is never declared, so a list can never contradict the wall.
"""
