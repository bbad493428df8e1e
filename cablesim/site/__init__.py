"""The floor around the cable: where the cable lies, how heat spreads, how to open and repair."""
