"""What people get: step lists, diagrams, pages, sizes and kits."""
