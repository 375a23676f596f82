"""Brute-force simulation of the model of plans, sharing no code with the package it checks."""
