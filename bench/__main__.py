"""Runs the benchmarks: ``python -m bench``. They inform and never fail a build."""

from __future__ import annotations

from bench.run import main

main()
