"""The files of a build, a module a kind: decided values in, named bytes out."""
