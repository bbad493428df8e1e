"""Training: cases of a known difficulty, sheets, live drills, marking."""
