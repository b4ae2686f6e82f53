"""One module a concern: a design in, verdicts with figures out."""
