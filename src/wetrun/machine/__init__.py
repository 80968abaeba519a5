"""Frozen records every room shares: tip, boom layout, control, supply."""
