"""Evidence gathered by hand: what each command measures stands in its own docstring."""
