"""The way to the screen of all machines."""

ALL_MACHINES = "All machines"
