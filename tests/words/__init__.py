"""Tests of what a person reads."""
