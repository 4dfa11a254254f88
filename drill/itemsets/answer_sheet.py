"""The printable answer sheet of a set: a page to write on, then the key on a page of its own."""

from collections.abc import Sequence
from html import escape
from typing import Any

from drill.items.plan import Plan
from phonetics.callsign_mixes import FICTION_NOTICE

STYLE = """
body { font: 12pt/1.35 sans-serif; margin: 2em; color: #000; background: #fff }
table { border-collapse: collapse; width: 100% }
th, td { border: 1px solid #555; padding: .35em .5em; text-align: left }
td.write { height: 2em }
td.number { width: 3em }
.key { break-before: page }
code { font: 12pt monospace }
tr { break-inside: avoid }
"""


def conditions_sentence(plan: Plan) -> str:
    """Return the conditions of a plan in a sentence."""
    return f"{plan.conditions.sentence}, seed {plan.seed}"


def sheet(plan: Plan, rows: Sequence[dict[str, Any]]) -> str:
    """Return a self-contained HTML page for the manifest's rows."""
    names = list(dict.fromkeys(name for row in rows for name in row["fields"]))
    head = "".join(f"<th scope=col>{escape(name)}</th>" for name in names)
    blank = "<td class=write></td>" * len(names)
    write = "\n".join(f"<tr><td class=number>{row['number']}</td>{blank}</tr>" for row in rows)
    key = "\n".join(
        f"<tr><td class=number>{row['number']}</td>"
        + "".join(f"<td><code>{escape(row['fields'].get(n, ''))}</code></td>" for n in names)
        + f"<td>{escape(row['spoken'])}</td></tr>"
        for row in rows
    )
    about = f"{len(rows)} items: {escape(conditions_sentence(plan))}. Calls are {escape(FICTION_NOTICE)}."
    return f"""<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Answer sheet</title>
<style>{STYLE}</style>
<main>
<h1>Answer sheet</h1>
<p>Name: ____________________ Date: ____________ Right: ______</p>
<p>{about} Do not play these sounds on the air. Start softly, above all with headphones.</p>
<table><thead><tr><th scope=col>Item</th>{head}</tr></thead><tbody>
{write}
</tbody></table>
<section class="key">
<h2>Key</h2>
<p>Keep this page back until all have written.</p>
<table><thead><tr><th scope=col>Item</th>{head}<th scope=col>Spoken</th></tr></thead><tbody>
{key}
</tbody></table>
</section>
</main>
</html>
"""
