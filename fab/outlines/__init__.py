"""Contours of lines and true arcs: build, measure, offset, facet. No kernel, no file format."""
