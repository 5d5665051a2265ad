"""The fireplace as lines and labels in real units; text, SVG and a description are three ways to show it."""

from hearthcalc.drawing.parts import Area, Dimension, Drawing, Label, Line, Mark
from hearthcalc.drawing.svg import as_svg
from hearthcalc.drawing.text import as_text, describe
from hearthcalc.drawing.views import views

__all__ = ["Area", "Dimension", "Drawing", "Label", "Line", "Mark", "as_svg", "as_text", "describe", "views"]
