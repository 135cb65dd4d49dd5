"""Real rings from links: rigid round rings are laid out in space so that a unit's links hold.

In: a `Cell` (see `cell`), the repeating unit with its links and steps, in mm.
Out: a `Fit` (see `result`), the layouts found, their sizes and lengths, as plain data.

Importing this package, `cell` or `result` does not import numpy; `fit` and `mesh` do.
"""
