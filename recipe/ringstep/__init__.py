"""A plain-text language for step-by-step ring weaves; each folder is a station on the way."""
