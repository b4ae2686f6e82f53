"""The light of one panel: luminance of its face, evenness, dots and rim.

In comes a `Scene` (`scene`): LEDs, the box and the sheet as plain numbers. LEDs shine on the sheet
directly, past ledge and ribs (`shade`); the rest of the light goes round in the box by radiosity
over flat patches (`mesh`, `factors`, `cavity`). `field` adds both up to luminance at any point,
`face` and `figures` make a picture and shares of it, `solve` finds the depth or pitch for a wanted
evenness.

The one idea: all sectors of a panel look the same, so form factors are calculated for one of them.
Luminances are in cd/m2 at full white; brightness scales them.
"""
