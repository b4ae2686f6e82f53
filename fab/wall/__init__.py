"""Hangers, statics, hanging order and template pages.

In come the layout, weights and the kind of wall. `places` says where a screw may sit, `choose`
finds the fewest that hold (by programme, or by search in a large group), `frame` and `statics`
give the load of each screw and joint. `order` finds the pushes that put panels together and mate
the most headers. `template` and its like draw it all 1:1 for drilling.

The one idea: the wall is a frame of stiff panels on springs, the clips and the screws. One sparse
system gives each of them its force, and a choice of screws is judged by that.
"""
