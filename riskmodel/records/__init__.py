"""What was entered: the case, its life records and its oil samples, read and written back."""
