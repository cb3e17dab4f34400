"""Water and money of a year: the plan, the allowance, today, and what would save."""
