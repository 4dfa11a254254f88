"""Invented logs for the tests of learned mixes."""

from random import Random

from phonetics.callsign_mixes import compose_callsign

HEAD = "START-OF-LOG: 3.0\n"


def invented_calls(count: int, *, mix: str = "europe", seed: int = 1) -> list[str]:
    """Return composed calls, as a stand-in for the calls of a real log."""
    rng = Random(seed)
    return [compose_callsign(rng, mix=mix).text for _ in range(count)]


def own_call() -> str:
    return compose_callsign(Random(99), strokes=0).text


def cabrillo_text(worked: list[str], exchange: str = "59 {n}") -> str:
    """Return an invented log; {n} is replaced by a serial number."""
    lines = [
        f"QSO: 14250 PH 2026-03-01 {n // 60 % 24:02d}{n % 60:02d} {own_call()} 59 {n + 1} "
        f"{call} {exchange.format(n=3 * n + 1)}"
        for n, call in enumerate(worked)
    ]
    return HEAD + "\n".join(lines) + "\nEND-OF-LOG:\n"


def adif_text(records: list[dict[str, str]]) -> str:
    """Return an invented ADI file."""
    body = (
        "".join(f"<{name}:{len(value)}>{value} " for name, value in record.items()) + "<EOR>\n"
        for record in records
    )
    return "invented\n<ADIF_VER:5>3.1.6 <EOH>\n" + "".join(body)
