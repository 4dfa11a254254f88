"""The schema of exported attempts."""

from drill.records.schema import COLUMN_NAMES, COLUMN_TYPES, COLUMNS, SCHEMA_VERSION, schema_text

RELEASED_COLUMNS = (
    "schema sitting number at started mode part exchange mix plan_seed item_seed call sent typed "
    "fields fields_sent fields_typed fields_right right points characters_right characters_sent "
    "snr_db conditions fading delay_ms spread_hz vd_db processing off_frequency_hz neighbours "
    "filter_width_hz filter_shift_hz agc operator engine voice pace spoken seconds replays gave_up "
    "version data"
)
"""The columns of version 0.2.0, schema 1."""


def test_columns_stay_as_released() -> None:
    assert SCHEMA_VERSION == 1
    assert " ".join(COLUMN_NAMES) == RELEASED_COLUMNS


def test_the_schema_text_describes_every_column_and_type() -> None:
    text = schema_text()
    for column in COLUMNS:
        assert f"  {column.name} " in text
        assert column.description in text
        assert column.type in COLUMN_TYPES
    for description in COLUMN_TYPES.values():
        assert description in text
