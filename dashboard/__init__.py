"""Top floor: the three readers' pages in the browser and the same in the terminal."""
