"""The border post to the CAD kernel: solid to mesh, section, volume, overlap, distance."""
