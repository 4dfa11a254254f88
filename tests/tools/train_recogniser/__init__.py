"""Maintainers' tool: renders synthetic speech and trains the recogniser `own` with it."""
