"""One module a concern: a design in, verdicts with figures out.

A `Verdict` (`model`) says what was measured, against which limit from which source, and what to
turn when it fails. Some checks need the plan alone (`plan`, `rules`, `board`, `jumpers`), some the
wiring or the hangers (`power`, `supply`, `hang`), some the solids in place (`fit`, `leak`,
`prints`, `motion`). What they judge is calculated in the rooms below.

The one idea: a remedy is found by trying (`remedy`), so the value that is named is known to pass.
"""
