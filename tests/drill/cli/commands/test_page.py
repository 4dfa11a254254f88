"""The command page passes its options to the server, as `faintcall` alone does."""

import pytest

from drill.cli import main


@pytest.mark.parametrize("command", [[], ["page"]])
@pytest.mark.parametrize(
    ("options", "served"),
    [
        ([], (None, True)),
        (["--port", "8123"], (8123, True)),
        (["--no-browser"], (None, False)),
    ],
)
def test_the_page_is_served_with_the_options(
    command: list[str],
    options: list[str],
    served: tuple[int | None, bool],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    calls: list[tuple[int | None, bool]] = []

    def serve(*, port: int | None, browser: bool) -> None:
        calls.append((port, browser))

    monkeypatch.setattr("drill.web.server.serve", serve)
    assert main([*command, *options]) == 0
    assert calls == [served]


def test_options_before_the_command_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    ports: list[int | None] = []
    monkeypatch.setattr("drill.web.server.serve", lambda port, browser: ports.append(port))
    assert main(["--port", "8123", "page"]) == 0
    assert ports == [8123]
