"""The page in the browser: text and findings on one side, the rings on the other."""
