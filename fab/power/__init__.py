"""Load, zones, resistor network and heat."""
