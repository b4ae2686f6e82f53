"""The door: texts of a shop, panel designs and a job in, one frozen `Job` out.

`toml` reads a file with the line of every value, `layers` lays it over what it extends, `merge`
lays tables over each other, `overrides` puts the command line on top, `convert` turns text to
values, and `cross_checks` looks for names that lead nowhere. All faults of a job are told at once,
each with file, line and key.

The one idea: a parameter is declared once (`spec`, in `shop`, `panel`, `job` and their like); the
reference page, the JSON Schemas, messages and the conversion all read that declaration. A value
left out stays None here and is derived in `parts/defaults`.
"""
