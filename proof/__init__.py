"""Full simulations: run by `make proof`, written into docs/proof."""
