"""Branches, people and what each may do."""
