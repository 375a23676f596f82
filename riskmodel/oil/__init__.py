"""What used-oil samples say of the part: wear rates, and how likely they make each failure age."""
