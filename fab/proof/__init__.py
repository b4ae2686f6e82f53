"""Reads a finished tree as a stranger would, with other code than wrote it, and says what does not
agree.

In comes a folder (`tree`: bounded in size and depth, since a stranger may have made it), out go
verdicts. Readers of its own take the formats apart (`dxf`, `svg`, `pdf`, `step`, `mesh`, `table`);
the other modules each hold files of the tree against each other or against physics: sheets against
STEP outlines, the template against holes.csv, lists against places, volts against the table of
joints.

The one idea: no shared code, no shared fault. An import contract keeps this room away from the
modules that wrote what it reads; the list of the job's values is what it takes on trust.
"""
