"""Estimators held against each other and against the limit, on frozen cases."""
