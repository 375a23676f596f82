"""Plans, what they cost, and which is cheapest."""
