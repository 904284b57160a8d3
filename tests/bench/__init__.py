"""Measurements, run by hand: ``python -m tests.bench``. Ratios against a floor of the same run; never timed tests."""
