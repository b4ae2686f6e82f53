"""Reads a finished tree as a stranger would, with other code than wrote it, and says what does not
agree.
"""
