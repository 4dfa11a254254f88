"""faintcall selfcheck: the radio path measured on this machine, beside its published limits."""

import argparse

EXAMPLES = """examples:
  faintcall selfcheck

Every line is a measurement made now, through the code that a drill uses: what, the figure, the
limits that it has to lie within, and the source of the limits. It takes about 20 seconds. The exit
code is 0 where every figure lies within its limits, else 1.
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall selfcheck`."""
    command.description = (
        "Measure the radio path on this machine and hold it against the standards."
    )
    command.epilog = EXAMPLES


def run(options: argparse.Namespace) -> int:
    """Print the table as it comes; return 1 where a figure is out of its limits."""
    import sys

    from tqdm import tqdm

    from drill import __version__
    from drill.selfcheck.checks import CHECKS

    print(f"faintcall {__version__}, seeds fixed; figures vary only with the machine's arithmetic.")
    print(f"{'':6} {'what':62} {'figure':>9}  {'limits':>19}  {'unit':6}  source")
    failed = total = 0
    with tqdm(total=len(CHECKS), unit="check", disable=None, file=sys.stderr, leave=False) as bar:
        for check in CHECKS:
            for row in check():
                total += 1
                failed += not row.passed
                limits = f"{row.low:.5g} to {row.high:.5g}"
                bar.write(
                    f"{'ok' if row.passed else 'FAILED':6} {row.what:62} {row.figure:9.3f}  "
                    f"{limits:>19}  {row.unit:6}  {row.source}",
                    file=sys.stdout,
                )
            bar.update()
    print(f"{total - failed} of {total} figures are within their limits.")
    if failed:
        print("Please report the lines that FAILED, with your machine and versions.")
    return 1 if failed else 0
