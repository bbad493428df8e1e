"""The electrics, on arrays only: exact piece, ladder, reduction, circuit of a damaged cable."""
