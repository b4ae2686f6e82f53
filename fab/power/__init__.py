"""Zones, inlets, jumpers, cables and what flows then; heat. `wire` is the one way in.

In come a layout, the current of each panel (`loads`) and the room beside open edges (`corridor`).
A small wall is split into zones by integer programme (`exact`), a large one by heuristic with a
proven bound (`heuristic`, `bounds`); `network` solves the two rails as resistors, and `limits` says
how bright the wall can be. Out goes `Wired` (`model`).

The one idea: a split is a proposal and the network its judge. Sums of currents choose a few splits;
volts and amperes of the solved network decide, and each remedy is tried there before it is told.
"""
