"""Tests of the page and its charts."""
