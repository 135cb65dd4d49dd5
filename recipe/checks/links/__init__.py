"""The checks that tell of faults in the links, found before (`recipe.faults`, `recipe.blame`).

Where there are none, as in every recipe that checks clean, none of these is even imported.
"""
