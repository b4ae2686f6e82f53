"""The border post to the CAD kernel: contours to solids, and solids to measures.

`loading` loads the kernel once, late, and only where a solid is needed; `kernel` makes and measures
solids and turns the kernel's errors into ours. From a solid come its mesh (`meshing`, at fixed
tolerances), its exact text form (`brep`), STEP (`step`, `assembled`) and line drawings
(`hiddenline`). `mesh`, `cuts` and `shaded` need no kernel.

The one idea: past this room a part is a `Mesh` of plain arrays, or bytes. The kernel leaves traces
on what it works with, so nothing may depend on what was made before.
"""
