"""From readings to a verdict: closed forms, hypotheses, posterior, limits, next reading."""
