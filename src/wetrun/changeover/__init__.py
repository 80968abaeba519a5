"""Getting one crop's product out before the next: dilution through the plumbing, rinse plans, first acres."""
