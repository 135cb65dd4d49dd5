"""What is wrong with a recipe: facts, causes, words."""
