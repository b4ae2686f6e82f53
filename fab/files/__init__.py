"""One module a format: a value in, bytes out; no paths, no clock, nothing of panels.

A `Drawing` becomes DXF or SVG, a mesh STL or 3MF, a `Page` SVG, PDF or PNG, a `Document` an HTML
page or a print (`doc*`), rows CSV. The other way, `read_outline`, `read_svg` and `readtable` read
what a user brings and refuse by name what they do not follow.

The one idea: a writer is not believed. `readback` reads the bytes again by other code and lists
every difference from the value that they were written from; a build stops at the first one. Same
value, same bytes, on every machine.
"""
