"""The layers of a hearth as a list: one put in, taken out, moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hearthcalc_tui.field import Field
from hearthcalc_tui.sections.table import MOST_FIELDS
from hearthcalc_tui.session import layer_number, whole_list

if TYPE_CHECKING:
    from hearthcalc_tui.desk import Desk


async def insert(desk: Desk) -> None:
    """Put an empty layer above the one in hand."""
    whole, number, layers = _in_hand(desk)
    if not number or number > len(layers):
        desk.hearth.say("Give a material or a thickness in the empty row: that adds a layer.")
    elif len(layers) >= MOST_FIELDS // len(desk.section.kind.fields):
        desk.hearth.say("The page has no room for another layer. Write more in the file: they are kept.")
    else:
        await _put(desk, whole, [*layers[: number - 1], {}, *layers[number - 1 :]], number)
        desk.hearth.say(f"Layer {number} is new: give its material. F8 or Ctrl+Z takes it out again.")


async def remove(desk: Desk) -> None:
    """Take the layer in hand out. Undo brings it back, so nothing is asked."""
    whole, number, layers = _in_hand(desk)
    if not number or number > len(layers):
        desk.hearth.say("There is no layer here that could be removed.")
        return
    await _put(desk, whole, [*layers[: number - 1], *layers[number:]], number)
    desk.hearth.say(f"Removed: layer {number}. Ctrl+Z brings it back.")


async def move(desk: Desk, by: int) -> None:
    """Exchange the layer in hand with the one below it or, by less than 0, above it."""
    desk.keep()
    whole, number, layers = _in_hand(desk)
    other = number + by
    if not number or not 1 <= min(number, other) <= max(number, other) <= len(layers):
        desk.hearth.say("There is no layer here that could be moved so.")
        return
    layers[number - 1], layers[other - 1] = layers[other - 1], layers[number - 1]
    await _put(desk, whole, layers, other)
    desk.hearth.say(f"Layer {number} is now layer {other} from the top.")


def _in_hand(desk: Desk) -> tuple[str, int, list[object]]:
    """The address of the list, the number of the layer that the cursor is in, 0 for none, and all layers as typed."""
    field = desk.hearth.focused
    address = field.address if isinstance(field, Field) and desk.form.row_of(field) else ""
    whole = whole_list(address) if desk.section.holds(address.removeprefix("planned.")) else ""
    return (whole, layer_number(address), desk.session.layers(whole)) if whole else ("", 0, [])


async def _put(desk: Desk, whole: str, layers: list[object], number: int) -> None:
    desk.session.put_layers(whole, layers)
    desk.write_draft()
    await desk.show_section(focus=True, address=f"{whole}.{number}.material")
