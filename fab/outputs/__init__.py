"""The files of a build, a module a kind: decided values in, named bytes out.

`prepared` holds what is arranged once for all: nest, plates, template. Each module then turns its
share of it into `OutFile`s (`model`): prints, sheets, the board's outline, the wall's template,
lists, models. No module here writes to disk; the workshop does, when
all files are there.

The one idea: a list states nothing of its own. Counts come from `decisions`, places from the
layout, grams from the layers, so two files cannot disagree.
"""
