"""Stock, nest, cut order and leftovers; receives outlines and never learns what a diffuser is."""
