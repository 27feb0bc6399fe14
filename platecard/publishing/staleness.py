"""What lies in the output folder and no longer holds, told without drawing anything.

A document bears a short code, made from all that matters to it; the record says which code was
issued, and the dish says which one it would get now.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence

from platecard import fingerprint
from platecard.diagnostics import Problem, warning
from platecard.files.entries import is_key
from platecard.prepared import Prepared
from platecard.publishing import disk, record, withdrawal
from platecard.publishing.ownership import MENU
from platecard.publishing.record import Issued


def unrecorded(out: str, known: Iterable[str]) -> list[str]:
    """The folders of dishes, and of the menu, that hold a document of platecard's and are not among ``known``."""
    others = (name for name in disk.names(out) if (is_key(name) or name == MENU) and name not in known)
    return [name for name in others if withdrawal.own(out, name, None)]


def check(
    out: str, menu: Sequence[Prepared], is_live: Callable[[str, str], bool], is_whole: bool
) -> tuple[Problem, ...]:
    """A warning for each dish of ``menu``, and each that has no spec any more, whose documents below ``out`` do not
    hold.

    ``is_live`` says whether there is a spec for a dish, by its key and the spec on record.
    ``is_whole``: ``menu`` is all of it, so that the menu's own documents can be told too.
    """
    if not os.path.isdir(out):
        return ()
    known, faults = record.read(out)
    found = [*faults]
    by_key = {p.key: p for p in menu}
    for key, issued in sorted(known.documented().items()):
        if key == MENU:
            why = _why_menu([p for p in menu if not p.is_draft], issued) if is_whole else ""
        elif key in by_key:
            why = _why(by_key[key], issued)
        else:
            why = "" if is_live(key, issued.spec) else "its spec is gone"
        why = why or (_damage(out, key, issued) if key in by_key or key == MENU else "")
        if why:
            found.append(_out_of_date(out, key, why, issued.code))
    found += [_out_of_date(out, key, "it is not on record", "") for key in unrecorded(out, known.issued)]
    return tuple(found)


def _why(prepared: Prepared, issued: Issued) -> str:
    if issued.is_leaving:
        return "a build was interrupted while withdrawing it"
    if not prepared.is_sound and not issued.is_draft:
        return "the dish has errors now"
    if issued.is_draft and prepared.is_sound and not prepared.is_draft:
        return "it is marked as a draft, but the dish has no errors now"
    if prepared.is_draft and not issued.is_draft:
        return "the dish is off the menu now: its spec is a draft"
    now = fingerprint.of(prepared)
    return "" if issued.code == now else f"its code would be {now} now"


def _why_menu(menu: Sequence[Prepared], issued: Issued) -> str:
    if issued.is_leaving:
        return "a build was interrupted while withdrawing it"
    if not any(p.is_sound for p in menu):
        return "every dish of the menu has errors now"
    now = fingerprint.code_of_menu(menu)
    return "" if issued.code == now else f"its code would be {now} now"


def _damage(out: str, key: str, issued: Issued) -> str:
    names = [name for name, digest in issued.files.items() if disk.digest_of(os.path.join(out, key, name)) != digest]
    return f"{', '.join(names)} is missing, or is not what was issued" if names else ""


def _out_of_date(out: str, key: str, why: str, code: str) -> Problem:
    papers = f"every paper of {key} that says 'code {code}'" if code else f"every paper of {key} printed before"
    return warning(
        "out-of-date",
        disk.shown(os.path.join(out, key)),
        f"{key}: what lies here is out of date: {why}",
        f"run platecard build, and take down {papers}",
    )
