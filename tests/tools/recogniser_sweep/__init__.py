"""Maintainers' tool: measures the recogniser over voices, conditions and SNRs."""
