"""One module a part: from a plan to one solid, or to one outline for what is cut.

`planning` takes a design, printer, sheet and cell, derives what the maker left out (`defaults`,
`leds`) and gives a `Plan` (`plan`): every dimension, from `rings` in plan view to `heights` over
the wall, each worked out once and free of the CAD kernel. `base`, `shell`, `clip`, `cap` turn it
into solids, `diffuser` and `board` into outlines; `assembly` puts them in place.

The one idea: a dimension is a property of the plan and never of a solid, so that checks, pictures
and lists read the same figure without the kernel. `fits` owns every clearance.
"""
