"""The chance of failure ahead."""
