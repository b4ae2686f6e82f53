"""Products with their needs, kept under keys of all that they depend on, made by processes.

    product   a function, its values and the products that it needs; its key
    program   the digest of all code that can shape a product
    store     products kept between runs
    workers   processes beside this one; `elsewhere` is what they do
    run       wanted products to values, in the order of what they need, longest first

Knows nothing of what the products are.
"""
