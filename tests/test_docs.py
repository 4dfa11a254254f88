"""The docs tell the truth: commands, options, names and the drill shown are the real ones."""

import io
import re
import tomllib
from pathlib import Path

import pytest

from drill.cli import main, parser
from drill.radio import presets
from phonetics.callsigns import MIXES, is_valid
from phonetics.exchanges import names

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def commands() -> dict[str, str]:
    """Return every command with its help text."""
    found = {}
    for action in parser()._actions:
        if isinstance(action.choices, dict):
            found = {name: sub.format_help() for name, sub in action.choices.items()}
    return found


def test_the_readme_begins_with_the_job() -> None:
    title, paragraph, *_ = README.split("\n\n")
    assert title == "# faintcall"
    assert paragraph.startswith("An amateur-radio operator goes outdoors")


def test_ci_runs_the_readmes_lines() -> None:
    ci = (ROOT / ".ci" / "run").read_text("utf-8")
    lines = [line.strip() for line in ci.splitlines()]
    given = re.findall(r"^    (python3 .*)$", README, re.MULTILINE)
    assert len(given) == 3
    for command in given:
        assert any(line == command or line.startswith(f"{command} ") for line in lines), command


def test_every_command_is_in_the_readme() -> None:
    table = re.findall(r"^\| `faintcall ([\w-]+)` \|", README, re.MULTILINE)
    assert set(table) == set(commands())


@pytest.mark.parametrize("name", commands())
def test_every_help_has_an_example(name: str) -> None:
    assert re.search(rf"example.*faintcall {name}", commands()[name], re.DOTALL)


def test_every_preset_exchange_and_mix_is_in_the_readme() -> None:
    own = (*presets.names(), *presets.fading_names(), *presets.receiver_names())
    for name in (*own, *names(), *MIXES):
        assert f"`{name}`" in README, name


@pytest.mark.parametrize("text", [README, *commands().values(), parser().format_help()])
def test_examples_are_accepted_by_the_parser(text: str) -> None:
    for line in re.findall(r"^ +faintcall (.*?)(?:  .*)?$", text, re.MULTILINE):
        parser().parse_args(line.split())


def test_options_named_in_the_readme_exist() -> None:
    known = "".join(commands().values()) + (ROOT / "drill" / "start.py").read_text("utf-8")
    for option in set(re.findall(r"`(?:faintcall [\w-]+ )?(--[a-z-]+)", README)):
        assert option in known, option


def test_files_named_in_the_guide_exist() -> None:
    for name in set(
        re.findall(r"`((?:drill|phonetics|tests)/[\w/.]+\.(?:py|toml|tsv))`", DEVELOPERS)
    ):
        assert (ROOT / name).exists(), name


def test_calls_in_the_docs_cannot_have_been_given_out() -> None:
    """No call in the docs is a valid one: its series is allocated to nobody (Appendix 42)."""
    for text in (README, DEVELOPERS, *commands().values()):
        for call in re.findall(r"\b(?:[A-Z]{1,2}\d|\d[A-Z]\d)[A-Z]{1,4}\b", text):
            assert not is_valid(call), call


DRILL = "copy --part over --exchange zone-itu --items 2 --seed 44 --mix unassigned --snr -3"


def test_the_drill_shown_is_a_real_one(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The block in the README is what the program prints for what is typed there."""
    shown = README.split("<!-- drill -->")[1].split("<!-- /drill -->")[0].strip()
    lines = [line.strip() for line in shown.splitlines()]
    assert lines[1] == f"$ faintcall {DRILL}"
    prompt = re.compile(r"(copied:|Enter: .* s: stop\.) ?(.*)")
    typed = [found[2] for line in lines if (found := prompt.fullmatch(line))]
    assert len(typed) == 4
    monkeypatch.setattr("sys.stdin", io.StringIO("\n" + "\n".join(typed) + "\n"))
    assert main([*DRILL.split(), "--audio-to", str(tmp_path / "sounds")]) == 0
    out = capsys.readouterr().out
    for line in lines[2:-1]:
        assert prompt.sub(r"\1", line) in out, line


def test_the_preset_shown_in_the_guide_is_a_real_one() -> None:
    text = re.search(r"```toml\n(says.*?)```", DEVELOPERS, re.DOTALL)
    assert text
    found = presets.parse("shown", tomllib.loads(text[1]))
    assert found.conditions.neighbours[0].overdrive_db == 10.0
