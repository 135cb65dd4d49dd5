"""Sizes, metals, counts, kits: what a maker buys."""
