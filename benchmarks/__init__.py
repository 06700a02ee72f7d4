"""Measure speed against peers in the same run: ``python -m benchmarks [NAME ...] [--json]``."""
