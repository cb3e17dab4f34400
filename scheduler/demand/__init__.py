"""What the plants need: ET0, plant coefficients, effective rain, need by month."""
