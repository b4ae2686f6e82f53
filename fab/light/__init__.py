"""Irradiance on the diffuser, evenness, dots and rim."""
