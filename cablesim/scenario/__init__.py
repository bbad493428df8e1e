"""The scenario file: schema, reading, writing, messages."""
