"""The answer written out for others: for programs as JSON, for the terminal as text."""
