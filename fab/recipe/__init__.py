"""The recipe of a build: everything that is made of a job, declared once, each with what it needs.

A job comes in; products of the graph and their values go out. `job.Recipe` is asked;
`parts`, `checks`, `files` and `pictures` declare what takes long. What is decided in a moment is a
plain call.

    plans -> parts, light                     known as soon as the job is read
    weights -> design -> bases, checks, STL, STEP, pictures
    sizes -> plates, nest, template (`prepared`) -> 3MF

Costs are tenths of a second, measured on the reading nook.
"""
