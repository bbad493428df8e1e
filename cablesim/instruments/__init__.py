"""What a meter shows: the instruments and their error models."""
