"""load_demo."""
