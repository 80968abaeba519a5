"""What customers are asked for, and what they answered: drafts, until a specialist has looked at every value."""
