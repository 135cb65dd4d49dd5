"""A second opinion on what the program prints: see `carrier`."""
