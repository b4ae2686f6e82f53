"""One module a format: a value in, bytes out; no paths, no clock, nothing of panels."""
