"""Coupons: small test pieces, printed or cut, whose readings with a caliper go into the
shop file.
"""
