"""The printed parts on the bed: plates, grams and hours.

In come meshes in print orientation and how many of each are needed. `turns` finds the angle at
which a part fits, `rows` lays many of one kind, `mixed` puts large kinds together, `plates` keeps
the fewest runs that were found and tells by `bounds` how few there can be at all. `layercount`
counts the lines a printer would lay, layer by layer; `mass` makes grams, hours and cost of them.

The one idea: a plate is flat. Objects stand side by side as convex footprints, never one over the
other, so a layout by footprints is safe for every height.
"""
