"""What a person reads: figures, pages, tables."""
