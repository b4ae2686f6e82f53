"""A page on this machine that shows a job while its files are edited; it writes nothing."""
