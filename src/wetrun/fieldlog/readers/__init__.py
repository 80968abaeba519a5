"""Readers of open log formats, one module each. Only here does a room below `wetrun.quantity` touch a file."""
