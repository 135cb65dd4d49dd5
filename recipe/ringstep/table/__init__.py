"""The table: text, rings and messages side by side in the browser, and what editors ask for."""
