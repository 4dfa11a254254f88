"""/api/mixes: learn from the user's own contest log which calls to compose.

The mix holds counts of prefixes and a salted table of bits, never a call of the log.
"""

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from drill.callmix.from_log import learn_from_log, summary_sentences
from drill.callmix.storage import learned_mix_names, mixes_folder
from drill.core.errors import UserError
from drill.core.validation import checked_entries, one_of
from drill.web.request_fields import short_text


def mixes_json() -> dict[str, Any]:
    """Return the "names" of the learned mixes, and the "folder" that they are in."""
    return {"names": list(learned_mix_names()), "folder": str(mixes_folder())}


def learn_mix_from_upload(query: Mapping[str, str], data: bytes) -> dict[str, Any]:
    """Learn a mix from a log and save it; return mixes_json with "says", sentences about it.

    query: "name" of the mix; "replace", "yes" to replace a mix of this name. data: an ADIF or
    Cabrillo file. The log itself is deleted again. Raises: UserError.
    """
    entries = checked_entries(query, {"name": short_text, "replace": _yes_or_no}, required=["name"])
    with TemporaryDirectory(prefix="faintcall-") as folder:
        path = Path(folder) / "log"
        path.write_bytes(data)
        try:
            summary = learn_from_log(
                path, entries["name"], overwrite=entries.get("replace") == "yes"
            )
        except UserError as error:
            reason = str(error).replace(str(path), "the log")
            raise UserError(reason, field=error.field, kind=error.kind) from None
    return {**mixes_json(), "says": list(summary_sentences(summary))}


def _yes_or_no(field: str, value: Any) -> str:
    return one_of(field, value, ("yes", "no"))
