"""faintcall: practise and measure the copying of weak single-sideband voice contacts."""

__version__ = "0.3.0"
