"""Make drill.png again, a picture of a session in a terminal.

    python audio_fixtures/picture_terminal.py

Draws the session that the manual shows (drill/manual/copy.md), which a test compares with the
program, in the typeface DejaVu Sans Mono that matplotlib ships.
"""

from pathlib import Path

import matplotlib
from PIL import Image, ImageDraw, ImageFont

FOLDER = Path(__file__).parent
MANUAL = FOLDER.parent / "drill" / "manual" / "copy.md"
TYPEFACE = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSansMono.ttf"
SIZE, LINE_HEIGHT, MARGIN = 15, 21, 26
BACKGROUND, INK = "#fcfdf9", "#1b1b1b"


def shown_session() -> str:
    """Return the session in the manual, with the command that starts it."""
    block = MANUAL.read_text("utf-8").split("<!-- session -->")[1].split("```")[1]
    return block.removeprefix("console\n").rstrip("\n")


def main() -> None:
    """Draw the session."""
    font = ImageFont.truetype(str(TYPEFACE), SIZE)
    lines = shown_session().splitlines()
    width = max(int(font.getlength(line)) for line in lines) + 2 * MARGIN
    picture = Image.new("RGB", (width, len(lines) * LINE_HEIGHT + 2 * MARGIN), BACKGROUND)
    canvas = ImageDraw.Draw(picture)
    for number, line in enumerate(lines):
        canvas.text((MARGIN, MARGIN + number * LINE_HEIGHT), line, font=font, fill=INK)
    picture.quantize(16).save(FOLDER / "drill.png", optimize=True)


if __name__ == "__main__":
    main()
