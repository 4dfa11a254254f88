"""The colours of charts: those of the page in its light scheme (drill/web/static/tokens.css).

The page replaces them with its own tokens, so that charts follow its dark scheme.
"""

CHART_GROUND = "#f9f1e4"
CHART_INK = "#22190e"
CHART_FIRST, CHART_SECOND = "#0a5a5f", "#a1174d"
CHART_SOFT, CHART_RULE = "#b7d5cd", "#84714f"
