"""What a build leaves in its folder, a module a kind: decided values in, named bytes out."""
