"""The open job: its document under edit, what is read in it, what it is judged by, and the file it is kept in."""

from hearthcalc_tui.session.document import (
    PATHS,
    STAGES,
    WHOLE_LISTS,
    WORDS,
    address_of,
    as_found,
    as_planned,
    is_name,
    layer_number,
    stage_of,
    whole_list,
)
from hearthcalc_tui.session.file import (
    ENDING,
    DraftToKeep,
    LeftDraft,
    about_of,
    path_for,
    suggested_name,
    told,
)
from hearthcalc_tui.session.session import RECOVERED, Session, open_session
from hearthcalc_tui.session.snapshot import Snapshot

__all__ = [
    "ENDING",
    "PATHS",
    "RECOVERED",
    "STAGES",
    "WHOLE_LISTS",
    "WORDS",
    "DraftToKeep",
    "LeftDraft",
    "Session",
    "Snapshot",
    "about_of",
    "address_of",
    "as_found",
    "as_planned",
    "is_name",
    "layer_number",
    "open_session",
    "path_for",
    "stage_of",
    "suggested_name",
    "told",
    "whole_list",
]
