"""The manual: Markdown pages read by `faintcall help TOPIC`, the page's Help and the README."""
