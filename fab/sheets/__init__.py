"""Stock, nest, cut order and leftovers; receives outlines and never learns what a diffuser is.

In come pieces with counts and the rack (`rack`). `paths` grows each outline by half the kerf;
`nest` lays equal pieces in exact patterns (`identical`, `lattice`) and mixed ones by no-fit regions
(`mixed`, `search`); `cut` orders inner cuts before outer ones, with lead-ins and tabs; `leftover`
gives the rests back. Out go layups, cut plans and drawings.

The one idea: whoever lays does not judge. `audit` proves every layup from scratch with another
library, and `bounds` says how far from perfect it can be.
"""
