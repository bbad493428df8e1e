"""Studies of methods: how far a method reaches, which one comes first, and what disturbs it."""
