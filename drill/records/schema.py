"""The schema of exported attempts: `faintcall export --schema` prints it, the writers follow it."""

from dataclasses import dataclass

SCHEMA = 1
"""Number of the schema; a change that a reader would notice raises it."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, its kind (a key of KINDS) and what it says."""

    name: str
    kind: str
    says: str


KINDS = {
    "text": "a text",
    "integer": "a whole number of up to 63 bits",
    "number": "a number, may be missing",
    "flag": "true or false",
    "texts": "a list of texts, in CSV written as JSON",
    "flags": "a list of true or false, in CSV written as JSON",
    "json": "JSON; in JSON lines a part of the line, else a text",
}
COLUMNS = (
    Column("schema", "integer", f"number of this schema, {SCHEMA}"),
    Column("sitting", "text", "identity of the sitting; with number, that of the attempt"),
    Column("number", "integer", "of the item in its sitting, from 0"),
    Column("at", "text", "when it was answered, ISO 8601"),
    Column("started", "text", "when the sitting began, ISO 8601"),
    Column("mode", "text", "kind of sitting, such as practice"),
    Column("part", "text", "what was to be copied: call, exchange or over"),
    Column("exchange", "text", "name of the exchange, empty for a lone call"),
    Column("mix", "text", "where the calls came from"),
    Column("plan_seed", "integer", "seed of the sitting"),
    Column("item_seed", "integer", "seed of the item"),
    Column("call", "text", "the call of the station, also where it was not to be copied"),
    Column("sent", "text", "all fields that were sent, by spaces"),
    Column("typed", "text", "the line as it was typed"),
    Column("fields", "texts", "names of the fields"),
    Column("fields_sent", "texts", "what was sent in each field"),
    Column("fields_typed", "texts", "what was typed for each field"),
    Column("fields_right", "flags", "whether each field was right"),
    Column("right", "flag", "whether the over was logged right"),
    Column("points", "number", "0 to 100"),
    Column("characters_right", "integer", "characters copied, a field that is right counts whole"),
    Column("characters_sent", "integer", "characters sent"),
    Column("snr_db", "number", "active speech level against noise in 3 kHz, missing for no noise"),
    Column("conditions", "text", "name of the set of conditions, empty for none"),
    Column("fading", "text", "name of the fading"),
    Column("delay_ms", "number", "differential delay of the two paths"),
    Column("spread_hz", "number", "Doppler spread, two sigma"),
    Column("vd_db", "number", "voltage deviation of static, missing for Gaussian noise"),
    Column("processing", "text", "speech processing of the transmitter"),
    Column("off_frequency_hz", "number", "how far the station lay above the receiver"),
    Column("neighbours", "integer", "how many other stations were on"),
    Column("filter_width_hz", "number", "width of the receiver's filter"),
    Column("filter_shift_hz", "number", "its shift"),
    Column("agc", "text", "the receiver's gain control"),
    Column("operator", "text", "who spoke"),
    Column("engine", "text", "the engine that spoke"),
    Column("voice", "text", "the engine's voice"),
    Column("pace", "number", "1 is the engine's usual pace"),
    Column("spoken", "text", "all words spoken, procedure words too"),
    Column("seconds", "number", "from the end of the sound to the answer"),
    Column("replays", "integer", "times heard again"),
    Column("gave_up", "flag", "whether the trainee gave up"),
    Column("version", "text", "the faintcall that kept the attempt"),
    Column(
        "data",
        "json",
        "all of it: item, answer, scores, and in the first row of a sitting the sitting too",
    ),
)
NAMES = tuple(column.name for column in COLUMNS)


def schema_text() -> str:
    """Return the schema as lines to read."""
    width = max(map(len, NAMES))
    lines = [f"Schema {SCHEMA}, one row an attempt, sittings oldest first, text in UTF-8.", ""]
    lines += [f"  {column.name:{width}}  {column.kind:7}  {column.says}" for column in COLUMNS]
    lines += ["", "Kinds:", *(f"  {name:7}  {says}" for name, says in KINDS.items())]
    return "\n".join(lines)
