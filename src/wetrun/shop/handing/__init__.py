"""How machines are handed over: photos of what was found, and links that let an operator take one over."""
