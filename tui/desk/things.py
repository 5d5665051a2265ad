"""Faces, things in lists, and the layers of a hearth: one more, one less, one moved."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from msgspec import Struct

from hearthcalc.errors import HearthError
from hearthcalc.job import MOST_FACES
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.sections.table import MOST_FIELDS
from hearthcalc_tui.session import STAGES, as_found, layer_number, whole_list

OF_THE_WHOLE = ("about", "fireplace")  # sections in which another face belongs to what is shown
COPIED = {
    "found": "A size that is copied counts as measured. Copy only where you know that both are the same, and measure what is not.",
    "planned": "A size that is copied is what you plan to build. Change what is to be different.",
}


class Things(Struct, frozen=True):
    """Adds and removes what the section shows. Undo brings back what goes, so nothing is asked."""

    surface: Surface
    place: Place
    sheet: Sheet
    entering: Entering

    async def do_add(self) -> None:
        """Another face; in a list, another thing of it."""
        self.entering.keep()
        if self.place.section.kind.repeats:
            await self._insert_layer()
            return
        section = self.place.section.kind
        kind = section.picks or section.each or ("face" if section.id in OF_THE_WHOLE else "")
        if not kind:
            self.surface.say(
                "F7 adds a face, an item, a roof, a fan or a layer in its own section. F4 goes there."
            )
            return
        sizes = self.place.session.sizes_to_start_from(self.place.stage) if kind == "face" else {}
        if 0 < len(sizes) < MOST_FACES:
            self.surface.start(self._ask_sizes(sizes))
        else:
            await self._add(kind)

    async def _ask_sizes(self, sizes: Mapping[str, Sequence[str]]) -> None:
        """A new face is empty, or starts from the sizes of another where that is chosen."""
        answers = [("", "Empty: every size is to be measured")]
        answers += [(face, f"Start from the sizes of {face}: {'; '.join(of)}") for face, of in sizes.items()]
        answer = await self.surface.ask(ChoicePage("Another face", COPIED[self.place.stage], answers))
        if answer is not None:
            await self._add("face", answer)

    async def _add(self, kind: str, like: str = "") -> None:
        """Add a thing. like: the face whose sizes a new one starts from."""
        try:
            name = self.place.session.add(kind, self.place.stage, like)
        except HearthError as error:
            self.surface.say(str(error), bad=True)
            return
        await self.entering.changed(self.place.to_name_of(kind, name))
        sizes = f", with the sizes of {plain(like, 24)}" if like else ""
        self.surface.say(
            f"Added, {STAGES[self.place.stage]}: {plain(name, 24)}{sizes}. F8 or Ctrl+Z undoes it."
        )

    async def do_remove(self) -> None:
        """Take away the face, the thing or the layer shown."""
        self.entering.keep()
        section = self.place.section
        if section.kind.repeats:
            await self._remove_layer()
            return
        kind = section.kind.each or section.kind.picks
        if not kind or not section.thing:
            self.surface.say("There is nothing to remove in this section.")
            return
        try:
            self.place.session.remove(kind, section.thing, self.place.stage)
        except HearthError as error:
            self.surface.say(str(error), bad=True)
            return
        await self.entering.changed()
        self.surface.say(f"Removed: {plain(section.thing, 40)}. Ctrl+Z brings it back.")

    async def do_sign(self) -> None:
        """Sign as the person shown, for the job as it stands."""
        self.entering.keep()
        section, session = self.place.section, self.place.session
        if section.kind.id != "signed" or not section.thing:
            self.place.go_to("signed")
            await self.entering.changed()
            self.surface.say("F7 adds a person. Fill in who signs and for what, then sign here.")
            return
        try:
            session.sign(section.thing, dt.date.today())
        except HearthError as error:
            self.surface.say(str(error), bad=True)
            return
        await self.entering.changed()
        self.surface.say(
            f"Signed by {plain(section.thing, 40)}. Any later change voids it; Ctrl+Z takes it back."
        )

    # Layers

    async def _insert_layer(self) -> None:
        """Put an empty layer above the one in hand."""
        whole, number, layers = self._layer_in_hand()
        if not number or number > len(layers):
            self.surface.say("Give a material or a thickness in the empty row: that adds a layer.")
        elif len(layers) >= MOST_FIELDS // len(self.place.section.kind.fields):
            self.surface.say("The page has no room for another layer. Write more in the file: they are kept.")
        else:
            await self._put_layers(whole, [*layers[: number - 1], {}, *layers[number - 1 :]], number)
            self.surface.say(f"Layer {number} is new: give its material. F8 or Ctrl+Z takes it out again.")

    async def _remove_layer(self) -> None:
        """Take the layer in hand out."""
        whole, number, layers = self._layer_in_hand()
        if not number or number > len(layers):
            self.surface.say("There is no layer here that could be removed.")
            return
        await self._put_layers(whole, [*layers[: number - 1], *layers[number:]], number)
        self.surface.say(f"Removed: layer {number}. Ctrl+Z brings it back.")

    async def do_layer_up(self) -> None:
        await self._move_layer(-1)

    async def do_layer_down(self) -> None:
        await self._move_layer(1)

    async def _move_layer(self, by: int) -> None:
        """Exchange the layer in hand with the one below it or, by less than 0, above it."""
        self.entering.keep()
        whole, number, layers = self._layer_in_hand()
        other = number + by
        if not number or not 1 <= min(number, other) <= max(number, other) <= len(layers):
            self.surface.say("There is no layer here that could be moved so.")
            return
        layers[number - 1], layers[other - 1] = layers[other - 1], layers[number - 1]
        await self._put_layers(whole, layers, other)
        self.surface.say(f"Layer {number} is now layer {other} from the top.")

    def _layer_in_hand(self) -> tuple[str, int, list[object]]:
        """The address of the list, the number of the layer that the cursor is in, 0 for none, and all layers as typed."""
        row = self.sheet.row
        address = row.address if row else ""
        whole = whole_list(address) if self.place.section.holds(as_found(address)) else ""
        return (whole, layer_number(address), self.place.session.layers(whole)) if whole else ("", 0, [])

    async def _put_layers(self, whole: str, layers: list[object], number: int) -> None:
        self.place.session.put_layers(whole, layers)
        await self.entering.changed(f"{whole}.{number}.material")
