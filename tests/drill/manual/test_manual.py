"""The manual: every page is listed, complete and true; its commands are accepted."""

import io
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from drill.cli import main, parser
from drill.manual import TOPICS, manual_page, manual_pages
from drill.manual.html import manual_html
from drill.radio import presets
from phonetics.callsign_mixes import CALLSIGN_MIXES
from phonetics.callsigns import is_valid_callsign
from phonetics.exchanges import exchange_names

TEXTS = {page.topic: page.text for page in manual_pages()}
EVERYTHING = "\n".join(TEXTS.values())


def test_every_page_is_a_topic() -> None:
    pages = {
        entry.name.removesuffix(".md")
        for entry in files("drill.manual").iterdir()
        if entry.name.endswith(".md")
    }
    assert pages == set(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_a_page_begins_with_its_title(topic: str) -> None:
    assert re.fullmatch(r"[A-Z][\w ,]+", manual_page(topic).title)


@pytest.mark.parametrize("topic", TOPICS)
def test_links_lead_to_other_pages(topic: str) -> None:
    for target in re.findall(r"\]\(([\w-]+)\.md\)", TEXTS[topic]):
        assert target in TOPICS
        assert f'href="/help/{target}"' in manual_html(topic)


@pytest.mark.parametrize("topic", TOPICS)
def test_commands_are_accepted(topic: str) -> None:
    for line in re.findall(r"^    (?:faintcall)(.*)$", TEXTS[topic], re.MULTILINE):
        parser().parse_args(line.split())


def test_options_named_in_the_text_exist() -> None:
    commands = next(a.choices for a in parser()._actions if isinstance(a.choices, dict))
    known = "".join(command.format_help() for command in commands.values())
    for option in set(re.findall(r"`(?:faintcall [\w-]+ )?(--[a-z-]+)", EVERYTHING)):
        assert option in known, option


def test_every_preset_exchange_and_mix_is_explained() -> None:
    for name in (
        *presets.preset_names(),
        *presets.fading_names(),
        *presets.receiver_names(),
        *exchange_names(),
        *CALLSIGN_MIXES,
    ):
        assert f"`{name}`" in EVERYTHING, name


def test_calls_in_the_examples_cannot_have_been_assigned() -> None:
    """No call sign series of Appendix 42 (ITU Radio Regulations) contains these calls."""
    for call in re.findall(r"\b(?:[A-Z]{1,2}\d|\d[A-Z]\d)[A-Z]{1,4}\b", EVERYTHING):
        assert not is_valid_callsign(call), call


def test_the_conditions_shown_are_valid() -> None:
    text = re.search(r"```toml\n(says.*?)```", TEXTS["conditions"], re.DOTALL)
    assert text
    preset = presets.preset_from_data("shown", tomllib.loads(text[1]))
    assert preset.conditions.neighbours[0].overdrive_db == 10.0


SESSION = "copy --part over --exchange zone-itu --items 2 --seed 44 --mix unassigned --snr -3"


def test_the_example_session_is_the_programs_output(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The block in the manual equals the program's output for the same typed lines."""
    shown = TEXTS["copy"].split("<!-- session -->")[1].split("<!-- /session -->")[0].strip()
    lines = [line.strip() for line in shown.splitlines()]
    assert lines[1] == f"$ faintcall {SESSION}"
    prompt = re.compile(r"(your copy:|Enter: .*\.) ?(.*)")
    typed = [match[2] for line in lines if (match := prompt.fullmatch(line))]
    assert len(typed) == 4
    monkeypatch.setattr("sys.stdin", io.StringIO("\n" + "\n".join(typed) + "\n"))
    assert main([*SESSION.split(), "--audio-to", str(tmp_path / "sounds")]) == 0
    out = capsys.readouterr().out
    for line in lines[2:-1]:
        assert prompt.sub(r"\1", line) in out, line


def test_html_keeps_tables_and_drops_pictures_and_comments() -> None:
    html = manual_html("copy")
    assert html.startswith("<h1>Copying</h1>")
    assert "<table>" in html
    assert "<img" not in html
    assert "<!--" not in html
