"""The schema of exported attempts; the writers follow it and `faintcall export --schema` prints
it."""

from dataclasses import dataclass

SCHEMA_VERSION = 1
"""Increased by every change that a program reading the files would notice."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, its type (a key of COLUMN_TYPES) and its description."""

    name: str
    type: str
    description: str


COLUMN_TYPES = {
    "text": "text",
    "integer": "a whole number of at most 63 bits",
    "number": "a number, may be missing",
    "flag": "true or false",
    "texts": "a list of texts; JSON in CSV",
    "flags": "a list of true or false; JSON in CSV",
    "json": "JSON; in JSON lines an object, otherwise text",
}
COLUMNS = (
    Column("schema", "integer", f"version of this schema, {SCHEMA_VERSION}"),
    Column("sitting", "text", "id of the session; with number it identifies the attempt"),
    Column("number", "integer", "number of the item in its session, from 0"),
    Column("at", "text", "time of the answer, ISO 8601"),
    Column("started", "text", "start of the session, ISO 8601"),
    Column("mode", "text", "kind of session, such as practice"),
    Column("part", "text", "what the trainee copies: call, exchange or over"),
    Column("exchange", "text", "name of the exchange, empty for a call alone"),
    Column("mix", "text", "mix that the calls came from"),
    Column("plan_seed", "integer", "seed of the session"),
    Column("item_seed", "integer", "seed of the item"),
    Column("call", "text", "call of the station, even if it is not part of the answer"),
    Column("sent", "text", "all fields as sent, separated by spaces"),
    Column("typed", "text", "the line as typed"),
    Column("fields", "texts", "names of the fields"),
    Column("fields_sent", "texts", "text sent in each field"),
    Column("fields_typed", "texts", "text typed for each field"),
    Column("fields_right", "flags", "whether each field is right"),
    Column("right", "flag", "whether all fields are right"),
    Column("points", "number", "0 to 100"),
    Column(
        "characters_right", "integer", "number of characters copied; a right field counts in full"
    ),
    Column("characters_sent", "integer", "characters sent"),
    Column("snr_db", "number", "active speech level against noise in 3 kHz, missing without noise"),
    Column("conditions", "text", "name of the conditions preset, empty for none"),
    Column("fading", "text", "name of the fading"),
    Column("delay_ms", "number", "differential delay of the two paths"),
    Column("spread_hz", "number", "Doppler spread, two sigma"),
    Column("vd_db", "number", "voltage deviation of static, missing for Gaussian noise"),
    Column("processing", "text", "speech processing in the transmitter"),
    Column("off_frequency_hz", "number", "frequency of the station above the receiver's"),
    Column("neighbours", "integer", "number of neighbouring stations"),
    Column("filter_width_hz", "number", "width of the receiver's filter"),
    Column("filter_shift_hz", "number", "shift of the receiver's filter"),
    Column("agc", "text", "the receiver's automatic gain control"),
    Column("operator", "text", "name of the operator"),
    Column("engine", "text", "speech engine of the operator"),
    Column("voice", "text", "the engine's name of the voice"),
    Column("pace", "number", "speaking rate, 1 is the engine's usual"),
    Column("spoken", "text", "all words spoken, procedure words included"),
    Column("seconds", "number", "time from the end of the audio to the answer"),
    Column("replays", "integer", "number of times the audio was played again"),
    Column("gave_up", "flag", "whether the trainee gave up"),
    Column("version", "text", "version of faintcall that stored the attempt"),
    Column(
        "data",
        "json",
        "everything: item, answer, scores and, in the first row of a session, the session",
    ),
)
COLUMN_NAMES = tuple(column.name for column in COLUMNS)


def schema_text() -> str:
    """Return the schema as lines of text."""
    width = max(map(len, COLUMN_NAMES))
    return "\n".join(
        [
            f"Schema {SCHEMA_VERSION}: one row per attempt, oldest session first, text in UTF-8.",
            "",
            *(
                f"  {column.name:{width}}  {column.type:7}  {column.description}"
                for column in COLUMNS
            ),
            "",
            "Types:",
            *(f"  {name:7}  {description}" for name, description in COLUMN_TYPES.items()),
        ]
    )
