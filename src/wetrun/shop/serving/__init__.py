"""Runs the shop: the pages' server and the job worker as processes, started, watched and stopped together."""
