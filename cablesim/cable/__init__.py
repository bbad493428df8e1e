"""The cable as value objects: construction, materials, faults, and their per-metre values."""
