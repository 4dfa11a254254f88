"""Pages, scripts, styles and typefaces: packaged, and without addresses of other servers."""

import re
from pathlib import Path

from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[2]
WEB = ROOT / "drill" / "web"
FOLDERS = ("templates", "static")


def test_wheel_contains_every_page_script_style_and_typeface() -> None:
    packaged = {file.distribution_path for file in WheelBuilder(str(ROOT)).recurse_included_files()}
    files = {
        path.relative_to(ROOT).as_posix() for folder in FOLDERS for path in (WEB / folder).iterdir()
    }
    assert len(files) > 30
    assert files <= packaged


def test_files_name_no_other_server() -> None:
    """Names of XML namespaces are allowed, because no browser loads them."""
    namespaces = re.compile(r"http://www\.w3\.org/")
    for folder in FOLDERS:
        for path in (WEB / folder).iterdir():
            if path.suffix in (".html", ".js", ".css", ".svg"):
                text = namespaces.sub("", path.read_text("utf-8"))
                urls = re.findall(r"""(?:https?:)?//[\w.-]+\.\w+[^\s"'`)]*""", text)
                assert not urls, (path.name, urls)
