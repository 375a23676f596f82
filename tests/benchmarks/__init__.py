"""Benchmarks, run by hand; their figures are kept in DEVELOPERS.md."""
