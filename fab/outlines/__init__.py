"""Contours of lines and true arcs, and pages of pictures. No kernel, no file format.

In come points and segments: built by `shapes` and `curves`, or loose ones as a drawing program
left them, which `loops` joins. Out go `Contour` and `Outline` (`contour`), which know their length,
area and box exactly, and from them offsets (`kerf`), facets (`facets`), a `Drawing` to cut or a
`Page` to look at.

The one idea: an arc stays an arc. Only what cannot work on arcs gets facets, and these lie outside
the true curve, so that no collision is missed. Material lies on the left of a contour: an outer
edge runs counter-clockwise, a hole clockwise.
"""
