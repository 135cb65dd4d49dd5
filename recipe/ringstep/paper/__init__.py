"""Steps, pages and tables in words."""
