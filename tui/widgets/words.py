"""Words on the screen that are drawn again only where they are others."""

from __future__ import annotations

from textual.content import Content
from textual.visual import VisualType
from textual.widgets import Static


class Words(Static):
    """A text that many keys write anew, mostly as it was: laying the page out for it takes longer than to look."""

    _written: Content | None = None

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Show a text. layout: False where it takes as many rows as the one before."""
        if isinstance(content, Content) and self._written is not None and self._written.is_same(content):
            return
        self._written = content if isinstance(content, Content) else None
        super().update(content, layout=layout)
