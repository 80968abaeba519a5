"""One page, one view, one template."""
