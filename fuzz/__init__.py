"""Damaged logs of every kind, to see that a reader refuses politely and never falls over."""
