"""README, DEVELOPERS.md and `--help` tell the truth: commands, options and files exist."""

import re
from pathlib import Path

import pytest

from drill.cli import COMMANDS, parser
from phonetics.callsigns import is_valid_callsign

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def help_texts() -> dict[str, str]:
    """Return the help text of every command."""
    commands = next(a.choices for a in parser()._actions if isinstance(a.choices, dict))
    return {name: command.format_help() for name, command in commands.items()}


HELP = help_texts()


def test_the_readme_begins_with_the_job() -> None:
    title, paragraph, *_ = README.split("\n\n")
    assert title == "# faintcall"
    assert paragraph.startswith("An amateur-radio operator goes outdoors")


def test_the_readme_is_short() -> None:
    words = len(re.findall(r"\S+", re.sub(r"!\[.*?\]\(.*?\)", "", README)))
    assert 600 <= words <= 800


def test_the_guide_is_short() -> None:
    assert len(DEVELOPERS.splitlines()) <= 200


def test_ci_runs_the_readmes_commands() -> None:
    lines = [line.strip() for line in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()]
    commands = re.findall(r"^    (python3 .*)$", README, re.MULTILINE)
    assert commands == ["python3 -m drill.start", "python3 -m drill.start --test"]
    for command in commands:
        assert any(line == command or line.startswith(f"{command} ") for line in lines), command


@pytest.mark.parametrize("name", COMMANDS)
def test_every_help_has_an_example(name: str) -> None:
    assert re.search(rf"example.*faintcall {name}", HELP[name], re.DOTALL)


@pytest.mark.parametrize("text", [README, *HELP.values(), parser().format_help()])
def test_examples_are_accepted_by_the_parser(text: str) -> None:
    for line in re.findall(r"^ +faintcall (.*?)(?:  .*)?$", text, re.MULTILINE):
        parser().parse_args(line.split())


def test_options_named_in_the_readme_exist() -> None:
    known = "".join(HELP.values()) + (ROOT / "drill" / "start.py").read_text("utf-8")
    for option in set(re.findall(r"`(?:faintcall [\w-]+ )?(--[a-z-]+)", README)):
        assert option in known, option


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_named_in_the_docs_exist(text: str) -> None:
    names = re.findall(r"`((?:drill|phonetics|tests|audio_fixtures)/[\w/.-]*)`", text)
    names += re.findall(r"\]\(((?:drill|audio_fixtures|tests)/[\w/.-]+|[A-Z]+(?:\.md)?)\)", text)
    assert names
    for name in set(names):
        assert (ROOT / name).exists(), name


def test_calls_in_the_docs_cannot_have_been_assigned() -> None:
    """No call sign series of Appendix 42 (ITU Radio Regulations) contains these calls."""
    for text in (README, DEVELOPERS, *HELP.values()):
        for call in re.findall(r"\b(?:[A-Z]{1,2}\d|\d[A-Z]\d)[A-Z]{1,4}\b", text):
            assert not is_valid_callsign(call), call
