"""From the text of a recipe to its tree, and back."""
