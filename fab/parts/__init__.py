"""One module a part; `plan` holds every derived dimension, `fits` every clearance."""
