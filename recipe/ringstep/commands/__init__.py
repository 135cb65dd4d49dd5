"""The commands, one to a file: `ringstep check` is `check.py`.

A command states what it does in the first line of its docstring, what can be typed in
`arguments(parser)`, and does it in `run(args)`, which returns the exit code. Only the command that
is called is imported. `cli` finds it, `rim` reads and writes its files, `fit_store` keeps fits,
`drawer` holds recipes against a stock list for `sizes`, `leftovers` finds pictures drawn earlier.
"""
