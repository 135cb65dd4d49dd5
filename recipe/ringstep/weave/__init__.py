"""From the tree to the piece: where all stands, what is done, what each ring meets."""
