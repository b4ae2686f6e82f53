"""The door: read, merge, refuse, convert and freeze the three layers of parameters."""
