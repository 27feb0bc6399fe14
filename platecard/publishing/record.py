"""The record of what was issued: for each dish, and for the menu, the documents with their digests.

It is written before anything changes and before each dish's documents take their
places, so that every whole document in the folder is on it at any moment.  What is read
from it is a claim: names and digests that do not fit count for nothing, and a document
is up to date only if its bytes are those on record.
"""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass, field
from typing import Any

from platecard.diagnostics import Problem, warning
from platecard.files.entries import is_key
from platecard.publishing import disk
from platecard.publishing.ownership import MENU, RECORD

_MOST = 16_000_000  # bytes of a record that is read
_NAME = re.compile(r"[a-z0-9][a-z0-9.-]{0,80}\.(?:svg|pdf|json|csv|html)\Z")
_DIGEST = re.compile(r"[0-9a-f]{64}\Z")
_STAMP = re.compile(r"[0-9a-f]{64}(?: [0-9a-f]{64})?\Z")
_CODE = re.compile(r"[0-9A-Za-z-]{1,16}\Z")


@dataclass(frozen=True, slots=True)
class Issued:
    """The documents of one dish or of the menu.

    ``files`` are names with their SHA-256, ``key`` is the stamp of all that they were made
    from, ``code`` what is printed on them, ``card`` the digest of the pages kept for the
    book.  ``is_leaving``: they no longer hold and are being withdrawn.  ``issued`` is what
    was issued of the dish, revision by revision (:mod:`platecard.publishing.issued`): what was printed
    once is remembered, whatever becomes of the documents.  ``undrawn`` are the documents that no font here could
    draw.
    """

    files: dict[str, str] = field(default_factory=dict)
    key: str = ""
    spec: str = ""
    card: str = ""
    code: str = ""
    is_draft: bool = False
    is_leaving: bool = False
    issued: dict[str, Any] = field(default_factory=dict)
    undrawn: tuple[str, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """The entry as it stands in the record's JSON."""
        said = {
            "key": self.key,
            "spec": self.spec,
            "card": self.card,
            "code": self.code,
            "draft": self.is_draft,
            "leaving": self.is_leaving,
            "issued": self.issued,
            "undrawn": list(self.undrawn),
        }
        return {"files": self.files, **{name: value for name, value in said.items() if value}}


class Record:
    """The record of one output folder: read once, written whenever something changes."""

    def __init__(self, out: str, issued: dict[str, Issued], on_disk: bytes):
        self.out = out
        self.issued: dict[str, Issued] = {}
        self._texts: dict[str, str] = {}
        self._on_disk, self._is_lasting = on_disk, True
        for key, one in issued.items():
            self.put(key, one)

    def get(self, key: str) -> Issued | None:
        """What was issued of a dish, or None."""
        return self.issued.get(key)

    def put(self, key: str, one: Issued) -> None:
        """Enter what was issued of a dish."""
        self.issued[key] = one
        # Written out once: the record of a long menu is written as often as it has dishes.
        text = json.dumps(one.as_data(), indent=1, sort_keys=True).replace("\n", "\n ")
        self._texts[key] = f"{json.dumps(key)}: {text}"

    def drop(self, key: str) -> None:
        """Forget the documents of ``key``, but not what was printed of it."""
        known = self.issued.pop(key, None)
        self._texts.pop(key, None)
        if known is not None and known.issued:
            self.put(key, Issued(spec=known.spec, issued=known.issued))

    def documented(self) -> dict[str, Issued]:
        """What has documents in the folder, as far as the record knows."""
        return {key: one for key, one in self.issued.items() if one.files or one.is_leaving}

    def write(self, is_lasting: bool = True) -> None:
        """Write the record where it has changed.  OSError where that fails; the earlier record then stays.

        ``is_lasting``: it is on the disk before this returns, and so outlives a power cut, not a killed program alone.
        """
        inside = ",\n ".join(self._texts[key] for key in sorted(self._texts))
        data = (f"{{\n {inside}\n}}\n" if inside else "{}\n").encode("ascii")
        if data == self._on_disk and (self._is_lasting or not is_lasting):
            return
        os.makedirs(self.out, exist_ok=True)
        place = os.path.join(self.out, RECORD)
        if os.path.islink(place):
            raise OSError("the record is a link, and platecard does not write over what it points to")
        try:
            os.replace(disk.draft(self.out, RECORD, (data,), is_lasting), place)
        except BaseException:
            disk.sweep(self.out, RECORD)
            raise
        self._on_disk, self._is_lasting = data, is_lasting


def read(out: str) -> tuple[Record, tuple[Problem, ...]]:
    """The record of an output folder; an empty one, with a warning, where it cannot be read."""
    place = os.path.join(out, RECORD)
    if not os.path.lexists(place):
        return Record(out, {}, b""), ()
    try:
        data = disk.read(place, _MOST)
        told = json.loads(data)
        if not isinstance(told, dict):
            raise ValueError("it is not a mapping of dishes")
    except (OSError, ValueError, RecursionError) as exc:
        said = "it is nested too deep" if isinstance(exc, RecursionError) else getattr(exc, "strerror", None) or exc
        return Record(out, {}, b""), (
            warning(
                "record-not-read",
                disk.shown(place),
                f"the record of what was issued cannot be read: {said}",
                "run platecard build, which ignores it and issues every document anew",
            ),
        )
    # A key becomes a folder below ``out``, so nothing but a dish's name is taken from the record.
    found = ((key, _issued(value)) for key, value in told.items() if is_key(key) or key == MENU)
    return Record(out, {key: one for key, one in found if one is not None}, data), ()


def _issued(value: object) -> Issued | None:
    if not isinstance(value, dict) or not isinstance(value.get("files"), dict):
        return None
    files = {name: digest for name, digest in value["files"].items() if _NAME.match(name) and _fits(digest, _DIGEST)}
    spec = value.get("spec")
    is_path = isinstance(spec, str) and len(spec) <= 4_096 and spec.isprintable()
    patterns = {"key": _STAMP, "card": _DIGEST, "code": _CODE}
    texts = {name: value[name] if _fits(value.get(name), pattern) else "" for name, pattern in patterns.items()}
    earlier = value.get("issued")
    return Issued(
        files,
        spec=str(spec) if is_path else "",
        is_draft=value.get("draft") is True,
        is_leaving=value.get("leaving") is True,
        issued=earlier if isinstance(earlier, dict) else {},
        undrawn=tuple(name for name in value.get("undrawn") or () if _fits(name, _NAME))
        if isinstance(value.get("undrawn"), list)
        else (),
        **texts,
    )


def _fits(value: object, pattern: re.Pattern[str]) -> bool:
    return isinstance(value, str) and pattern.match(value) is not None
