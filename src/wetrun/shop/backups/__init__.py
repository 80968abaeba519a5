"""Backups of a shop: made while people work, checked to the last byte, put back without losing what stood there."""
