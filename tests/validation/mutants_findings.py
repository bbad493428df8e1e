"""What the page on mutants says by hand: why survivors were left, what others led to."""

REASONS: dict[str, str] = {}
FINDINGS = ""
