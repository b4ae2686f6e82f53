"""The build book: page, print and pictures; reads everything, so nothing reads it."""
